"""How fast a take of chords is heard, beside the time that it lasts and a plain transform of it.

A strummed exercise of some 30 seconds is sounded by the package's own strings, written as a WAV file,
decoded and heard in a process of its own, each step timed by what it takes of one core once compiled; the
peak of memory is that process's, without the decoder's. The bar is 50 times real time and 250 MB. The
reference in the same run is one fast Fourier transform of every 5 ms of the take.
"""

import multiprocessing
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from statistics import median

sys.path.append(str(Path(__file__).parents[1]))

import numpy as np
import soundfile
from evaluation.memory import peak_mb

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Take, read_take
from fretwright.ear.verdicts import Hearing, Verdict
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.score.tempo import Ladder, TempoMap
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, QUARTER
from fretwright.sound.render import render
from fretwright.theory.key import Key

BAR = 50.0
ROUNDS = 5
BPM = 96
CHORDS = ((None, 3, 2, 0, 1, 0), (3, 2, 0, 0, 0, 3), (None, 0, 2, 2, 1, 0), (None, None, 0, 2, 3, 2))
PATTERN = ((QUARTER, Stroke.DOWN), (EIGHTH, Stroke.DOWN), (EIGHTH, Stroke.UP)) * 2


def strummed() -> Score:
    """Twelve bars of strums."""
    neck = Neck()
    events = []
    for bar in range(12):
        places = [Place(6 - row, fret) for row, fret in enumerate(CHORDS[bar % 4]) if fret is not None]
        for value, stroke in PATTERN:
            heads = tuple(Head(place, neck.pitch_at(place), stroke=stroke) for place in places)
            events.append(Event(value, heads))
    heading = Heading("strummed", "Strummed", neck, Key(0), TempoMap.constant(BPM))
    return assemble(heading, into_bars(events))


@dataclass(frozen=True, slots=True)
class Measured:
    """What a process found that did nothing but decode and hear."""

    take: Take
    heard: Hearing
    decoding_s: float
    spent_s: tuple[float, ...]
    """Processor seconds of each hearing after the first."""
    once_mb: float
    """Most memory held until the take was heard for the first time."""
    peak_mb: float
    """The same over all hearings, as of a process that judges one take after the other."""


def measure(path: Path, score: Score) -> Measured:
    """Decode and hear a recording again and again; ends in an error where the ear refuses it."""
    read_take(path)
    begun = time.perf_counter()
    take = read_take(path)
    decoding_s = time.perf_counter() - begun
    if not isinstance(take, Take):
        sys.exit(f"The take was refused: {take.reason}")
    heard = listen(take, timeline(score, BPM), Ladder(BPM, BPM))
    once_mb = peak_mb()
    spent: list[float] = []
    for _ in range(ROUNDS):
        begun = time.process_time()
        heard = listen(take, timeline(score, BPM), Ladder(BPM, BPM))
        spent.append(time.process_time() - begun)
    if not isinstance(heard, Hearing):
        sys.exit(f"The take was refused: {heard.reason}")
    return Measured(take, heard, decoding_s, tuple(spent), once_mb, peak_mb())


def transforms_s(take: Take) -> float:
    """Processor seconds of a spectrum every 5 ms."""
    hop, size = RATE_HZ // 200, 1024
    begun = time.process_time()
    frames = np.lib.stride_tricks.sliding_window_view(take.samples, size)[::hop]
    for start in range(0, len(frames), 512):
        np.abs(np.fft.rfft(frames[start : start + 512] * np.hanning(size), axis=1))
    return time.process_time() - begun


def main() -> None:
    """Print times, ratios and memory."""
    score = strummed()
    sound = render(score, BPM)
    alone = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as folder, ProcessPoolExecutor(1, mp_context=alone) as pool:
        path = Path(folder) / "take.wav"
        soundfile.write(path, sound.samples, SAMPLE_RATE_HZ)
        found = pool.submit(measure, path, score).result()
    length_s, spent = found.take.length_s, found.spent_s
    whole_s = median(spent) + found.decoding_s
    played = sum(note.verdict is Verdict.PLAYED for note in found.heard.notes)
    print(f"a take of {length_s:.1f} s with {len(found.heard.strokes)} strokes")
    print(f"{played} of {len(found.heard.notes)} notes heard as played")
    print(f"decoded in {found.decoding_s:.2f} s, heard in {median(spent):.2f} s (slowest {max(spent):.2f} s)")
    print(f"together {length_s / whole_s:.0f} times real time; the bar is {BAR:.0f}")
    reference_s = transforms_s(found.take)
    print(f"a spectrum every 5 ms: {reference_s:.2f} s, ratio {whole_s / reference_s:.1f}")
    print(
        f"memory at most {found.once_mb:.0f} MB to hear it once, {found.peak_mb:.0f} MB to hear it many times"
    )


if __name__ == "__main__":
    main()
