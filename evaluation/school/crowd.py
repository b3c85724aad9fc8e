"""Many students at once: one line each, kept open, and a pause between pages as a reader makes."""

import asyncio
import random
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from evaluation.school.rig import Rig

_THINKS_S: Final = (2.0, 8.0)


@dataclass(frozen=True)
class Asked:
    """One request and how it went."""

    path: str
    status: int
    took_s: float


def crowd(rig: Rig, paths: Sequence[str], *, lasts_s: float, seed: int) -> list[Asked]:
    """Have every student of the rig open pages for a while; every request that was made."""
    return asyncio.run(_crowd(rig, paths, lasts_s, seed))


async def _crowd(rig: Rig, paths: Sequence[str], lasts_s: float, seed: int) -> list[Asked]:
    rng = random.Random(seed)
    students = [_student(rig, cookie, paths, lasts_s, random.Random(rng.random())) for cookie in rig.cookies]
    return [asked for each in await asyncio.gather(*students) for asked in each]


async def _student(
    rig: Rig, cookie: str, paths: Sequence[str], lasts_s: float, rng: random.Random
) -> list[Asked]:
    asked: list[Asked] = []
    await asyncio.sleep(rng.uniform(0, _THINKS_S[1]))
    ends = time.monotonic() + lasts_s
    reader, writer = await asyncio.open_connection("127.0.0.1", rig.port)
    while time.monotonic() < ends:
        path = rng.choice(paths)
        head = (
            f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{rig.port}\r\nAccept: text/html\r\n"
            f"Cookie: fretwright={cookie}\r\n\r\n"
        )
        began = time.perf_counter()
        writer.write(head.encode())
        status = await _answer(reader)
        asked.append(Asked(path, status, time.perf_counter() - began))
        await asyncio.sleep(rng.uniform(*_THINKS_S))
    writer.close()
    return asked


async def _answer(reader: asyncio.StreamReader) -> int:
    """Read one whole answer; its status."""
    head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").lower()
    length = next(
        (int(line.partition(":")[2]) for line in head.splitlines() if line.startswith("content-length:")), 0
    )
    await reader.readexactly(length)
    return int(head.split(" ", 2)[1])
