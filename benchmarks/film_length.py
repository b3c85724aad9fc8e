"""What a film over a recording costs by its length: time, and memory, which must not grow.

A recording is put together from the demo's fourth lesson, sounded slow and fast with pauses between, again
and again; the overlay is then laid over it (hearing everything, writing the overlay alone) in a process of
its own. Reference: a tenth of the length in the same run. The bar: at most 500 MB at any length, the decoding
process included.

Run with ``--hours 4`` for a whole evening; without it, for a quarter of an hour.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1]))

import av
import numpy as np
from evaluation.memory import held_mb

from fretwright.flows.reading import check_course
from fretwright.sound.render import render

BAR_MB = 500.0
LESSON = "04-hammer-ons"
RATE_HZ = 48_000
FPS = 10
"""Of the recording's pictures, which are grey: only their number matters."""
PAUSE_S = 4.0


def playing() -> np.ndarray:
    """Each exercise of the lesson at its first rung and half as fast again, mono."""
    checked = check_course(Path("demo"))
    exercises = [each for each in checked.course.exercises if each.lesson == LESSON]
    pieces = []
    for each in exercises:
        for ratio in (1.0, 1.5):
            sound = render(checked.score_of(each), each.ladder.start_bpm * ratio)
            pieces += [sound.samples.mean(axis=1), np.zeros(round(PAUSE_S * RATE_HZ))]
    whole = np.concatenate(pieces)
    return (whole + np.random.default_rng(1).normal(0, 5e-4, len(whole))).astype(np.float32)


def record(path: Path, length_s: float) -> None:
    """Write a recording of that length."""
    once = playing()
    grey = av.VideoFrame.from_ndarray(np.full((540, 640), 110, np.uint8), format="yuv420p")
    with av.open(str(path), "w") as file:
        picture = file.add_stream("libx264", rate=FPS, options={"preset": "ultrafast", "g": "600"})
        picture.width, picture.height, picture.pix_fmt = 640, 360, "yuv420p"
        voice = file.add_stream("aac", rate=RATE_HZ)
        voice.layout, voice.bit_rate = "mono", 64_000
        for number in range(round(length_s * FPS)):
            grey.pts, grey.time_base = number, Fraction(1, FPS)
            file.mux(picture.encode(grey))
            size = RATE_HZ // FPS
            at = number * size % (len(once) - size)
            heard = av.AudioFrame.from_ndarray(once[None, at : at + size], format="fltp", layout="mono")
            heard.sample_rate, heard.pts = RATE_HZ, number * size
            heard.time_base = Fraction(1, RATE_HZ)
            file.mux(voice.encode(heard))
        file.mux(picture.encode(None))
        file.mux(voice.encode(None))


def measure(length_s: float, folder: Path) -> tuple[float, float]:
    """Seconds of processor time and the most memory in MB of all processes together; Linux alone."""
    recording = folder / "lesson.mp4"
    record(recording, length_s)
    words = ["film", "demo", LESSON, "--over", str(recording), "--overlay", "--size", "720p"]
    begun_s = time.monotonic()
    process = subprocess.Popen(
        [sys.executable, "-m", "fretwright", *words, "--out", str(folder / "overlay.mov")]
    )
    peak_mb = cpu_s = 0.0
    while process.poll() is None:
        running = (process.pid, *children_of(process.pid))
        peak_mb, cpu_s = max(peak_mb, held_mb(running)), max(cpu_s, sum(map(spent_s, running)))
        time.sleep(0.2)
    if process.returncode:
        sys.exit(process.returncode)
    print(
        f"{length_s / 60:.0f} minutes: {peak_mb:.0f} MB at the peak, {cpu_s:.0f} s of processor time, "
        f"{time.monotonic() - begun_s:.0f} s on the clock"
    )
    return cpu_s, peak_mb


def children_of(pid: int) -> list[int]:
    """Processes that one has started."""
    try:
        listed = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="ascii")
    except OSError:
        return []
    return [int(word) for word in listed.split()]


def spent_s(process: int) -> float:
    """Processor time of a process so far; nothing of one that has ended."""
    try:
        times = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()
        return (int(times[11]) + int(times[12])) / 100
    except (OSError, IndexError):
        return 0.0


def main() -> int:
    """Print a line for each length; the exit code says whether the bar was reached."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--hours", type=float, default=0.25)
    length_s = parser.parse_args().hours * 3600
    with tempfile.TemporaryDirectory() as name:
        short_cpu_s, short_mb = measure(length_s / 10, Path(name))
        cpu_s, peak_mb = measure(length_s, Path(name))
    print(
        f"Ten times the length: {cpu_s / short_cpu_s:.1f} times the time, {peak_mb / short_mb:.2f} times the "
        f"memory; {length_s / cpu_s:.0f} times real time on one core"
    )
    return 0 if peak_mb <= BAR_MB else 1


if __name__ == "__main__":
    sys.exit(main())
