"""Memory of processes in MB of 2**20 bytes, as Linux tells it."""

import contextlib
from collections.abc import Iterable
from pathlib import Path


def peak_mb() -> float:
    """Most memory that this process has held so far (resident set)."""
    return _told_mb("self", "VmHWM:")


def held_mb(processes: Iterable[int]) -> float:
    """Memory that some processes hold together (resident set); one that has ended holds nothing."""
    total_mb = 0.0
    for number in processes:
        with contextlib.suppress(OSError, IndexError):
            total_mb += _told_mb(str(number), "VmRSS:")
    return total_mb


def _told_mb(process: str, name: str) -> float:
    status = (Path("/proc") / process / "status").read_text(encoding="ascii")
    return int(status.split(name)[1].split()[0]) / 1024
