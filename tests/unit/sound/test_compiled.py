import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numba
import pytest

from fretwright.sound.compiled import compiled

_SCRIPT = """
import numpy as np
from fretwright.sound.loudness import true_peak
print(true_peak(np.ones((100, 2))))
"""


def doubled(value: float) -> float:
    return 2 * value


def test_a_kernel_keeps_its_plain_form() -> None:
    kernel = compiled(doubled)
    assert kernel(1.5) == kernel.py_func(1.5) == 3.0


def test_where_no_cache_can_be_written_the_function_still_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    real = numba.njit

    def no_cache(*, cache: bool = False, nogil: bool) -> Callable[..., object]:
        if cache:
            message = "cannot cache function: no locator available"
            raise RuntimeError(message)
        return real(nogil=nogil)

    monkeypatch.setattr(numba, "njit", no_cache)
    assert compiled(doubled)(2.0) == 4.0


def test_cold_processes_may_share_one_cache(tmp_path: Path) -> None:
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path)}
    processes = [
        subprocess.Popen(
            [sys.executable, "-c", _SCRIPT], env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE
        )
        for _ in range(2)
    ]
    for process in processes:
        out, error = process.communicate(timeout=120)
        assert process.returncode == 0, error.decode()
        assert float(out) > 0.9
    assert list(tmp_path.rglob("*.nbi"))
