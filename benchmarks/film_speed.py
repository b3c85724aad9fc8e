"""How fast a film is made, beside the bare encoder on the very same pictures.

A stretch of a film is painted and kept; then the same stretch is measured stage by stage: painting alone,
the encoder alone on the kept pictures, and the two together as they are used. Processor time is what counts,
since it does not depend on what else the machine does; ``real time`` is that time spread over two cores.

The bars: a complete film of 1080p at 30 pictures a second is made at 3 times real time on two cores, with
at least 0.7 of the bare encoder's speed, in at most 500 MB, whatever its length.

Measured with ``film_speed.py`` on two cores of a shared machine: MP4 of 1080p30 painted in 0.5 ms a picture
and made in 9.0 ms of processor time, 7.4 times real time on two cores, 0.83 of the encoder's ceiling; 720p60
7.5 times, WebM with alpha 3.1 times, lossless MOV 8.6 times. With ``--memory 2`` and ``--memory 12``: the
same peak for 24 s as for 114 s, and 460 MB at 2160p. With ``--over``: a recording of 1080p30 read, heard and
burned in at 3.6 times real time with 418 MB at the peak; 395 s of 360p25 at 17.8 times with 301 MB. With
``--sync``: 1608 clicks in 610 s, each 0.04 ms from its picture's moment.

``--sync`` films ten minutes of a click track instead, decodes them, and says how far apart sound and picture
are anywhere.
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1]))

import av
import numpy as np
from evaluation.memory import peak_mb

from fretwright.engrave.diagram import fretboard_diagram
from fretwright.film.clock import clock_of
from fretwright.film.encode import COMPLETE, FilmFile, Kind, Labels, kind_of
from fretwright.film.footage import probe
from fretwright.film.layout import screen_of
from fretwright.film.painter import Painter
from fretwright.film.scene import Scene, Words, scene_of
from fretwright.film.size import FilmSize, film_size
from fretwright.film.write import Film, write_film
from fretwright.flows.film_over import OverOrder, OverReport, film_over
from fretwright.flows.reading import check_course
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH
from fretwright.theory.key import Key

REAL_TIME_BAR = 3.0
CEILING_BAR = 0.7
CORES = 2
KEPT = 120
"""Pictures in the stretch: four seconds."""

# A minor pentatonic in fifth position.
UP = [(6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5), (3, 7), (2, 5), (2, 8), (1, 5), (1, 8)]


def line(times: int) -> Score:
    """Eighth notes over the whole neck's width, up and down."""
    neck = Neck()
    events = [
        Event(EIGHTH, (Head(Place(*place), neck.pitch_at(Place(*place)), Attack.PLUCK),))
        for place in (UP + UP[::-1]) * times
    ]
    return assemble(Heading("line", "Line", neck, Key(0), TempoMap.constant(80)), into_bars(events))


def scene(score: Score, size: FilmSize, *, overlay: bool) -> Scene:
    """A film of that score as the command makes it."""
    clock = clock_of(score, 80.0)
    return scene_of(
        score,
        clock if overlay else clock.later(3.0),
        screen_of(size, overlay=overlay, fretboard=not overlay),
        Words("Line", "Speed", "Measured", "80 beats a minute"),
        None if overlay else fretboard_diagram(score),
    )


def stretch(shown: Scene) -> Iterator[tuple[int, float]]:
    """Numbers and times of the pictures measured: about the second line, so that a line is exchanged."""
    first = round((shown.path.visits[1].start_s - 1.0) * shown.screen.size.fps)
    for number in range(KEPT):
        yield number, shown.time_of(first + number)


def timed(task: Callable[[], object]) -> tuple[float, float]:
    """Processor time and time on the clock, in seconds; the better of three rounds."""
    rounds = []
    for _ in range(3):
        cpu_s, clock_s = time.process_time(), time.perf_counter()
        task()
        rounds.append((time.process_time() - cpu_s, time.perf_counter() - clock_s))
    return min(rounds)


def measure(name: str, kind: Kind, size: FilmSize, folder: Path) -> bool:
    """Print one line for one kind of film; whether it reaches the bars."""
    shown = scene(line(8), size, overlay=kind is not COMPLETE)
    painter = Painter(shown, kind.layout)
    kept = [painter.paint(time_s).frame() for _, time_s in stretch(shown)]

    def paint() -> None:
        for _, time_s in stretch(shown):
            painter.paint(time_s)

    def encode() -> None:
        file = FilmFile(folder / "a", kind, size, Labels("", ()), captions=False)
        for number, frame in enumerate(kept):
            file.add_picture(frame, number)
        file.finish()

    def both() -> None:
        file = FilmFile(folder / "a", kind, size, Labels("", ()), captions=False)
        for number, time_s in stretch(shown):
            file.add_picture(painter.paint(time_s).frame(), number)
        file.finish()

    painted, ceiling, whole = timed(paint), timed(encode), timed(both)
    fps = [KEPT / cpu_s for cpu_s, _ in (painted, ceiling, whole)]
    real_time, share = CORES * fps[2] / size.fps, fps[2] / fps[1]
    print(
        f"{name}: painting {1000 / fps[0]:.2f} ms a picture, the bare encoder {1000 / fps[1]:.2f} ms, "
        f"both {1000 / fps[2]:.2f} ms of processor time ({1000 * whole[1] / KEPT:.1f} ms on the clock): "
        f"{real_time:.1f} times real time on {CORES} cores, {share:.2f} of the encoder's ceiling"
    )
    return kind is not COMPLETE or (real_time >= REAL_TIME_BAR and share >= CEILING_BAR)


def synchrony(folder: Path) -> None:
    """Ten minutes: a click and the frame of a note at the same moments, decoded and compared."""
    size = FilmSize(160, 120, 25)
    score = line(67)
    shown = scene(score, size, overlay=False)
    rate = 48_000
    samples = np.zeros((round((shown.clock.ends_s - 3.0) * rate), 2), np.float32)
    for note in shown.clock.notes:
        at = round((note.onset_s - 3.0) * rate)
        samples[at : at + 240] = (0.5 * np.sin(np.arange(240) * 2 * np.pi * 2000 / rate))[:, None]
    path = folder / "sync.mp4"
    write_film(Film(shown, COMPLETE, samples, ()), path)

    onsets = [note.onset_s for note in shown.clock.notes]
    late_ms = [1000 * (found_s - onset_s) for found_s, onset_s in zip(clicks(path), onsets, strict=True)]
    with av.open(str(path)) as file:
        count = sum(1 for _ in file.decode(video=0))
        last_s = count / size.fps
    print(
        f"{shown.clock.ends_s:.0f} s: {len(late_ms)} clicks decoded, {min(late_ms):.2f} to "
        f"{max(late_ms):.2f} ms from where the pictures have them; {count} pictures, {last_s:.2f} s"
    )


def over(recording: Path, folder: Path) -> None:
    """Hear a recording and burn the overlay in; say how long each took and what was held."""
    checked = check_course(Path("demo"))
    footage = probe(recording)
    marks: list[float] = []

    def heard(*_: float) -> None:
        marks[:] = [time.process_time()]

    start_s = time.process_time()
    made = film_over(OverOrder("04-hammer-ons", recording, folder / "a.mp4"), checked, heard)
    whole_s = time.process_time() - start_s
    if not isinstance(made, OverReport):
        sys.exit(f"{made.reason} {made.mend}")
    filmed_s = time.process_time() - marks[0]
    print(
        f"{footage.length_s:.0f} s of {footage.width} by {footage.height} at {float(footage.rate):g}: "
        f"{len(made.shown)} demonstrations; {CORES * footage.length_s / whole_s:.1f} times real time on "
        f"{CORES} cores, hearing {whole_s - filmed_s:.1f} s of {whole_s:.1f} s of processor time; "
        f"{peak_mb():.0f} MB at the peak"
    )


def clicks(path: Path) -> Iterator[float]:
    """When each click of a film's sound begins, as decoded: where silence ends, in seconds."""
    quiet_until_s = 0.0
    with av.open(str(path)) as file:
        for frame in file.decode(audio=0):
            level = np.abs(frame.to_ndarray()).max(axis=0)
            for place in np.nonzero(level > 0.2)[0]:
                at_s = float(frame.time or 0.0) + place / frame.sample_rate
                if at_s > quiet_until_s:
                    yield at_s
                quiet_until_s = at_s + 0.05


def main() -> int:
    """Print one line per kind of film; the exit code says whether the bars were reached."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--sync", action="store_true", help="film ten minutes and compare sound with picture")
    parser.add_argument("--memory", type=int, metavar="TIMES", help="film a line so many times, say the peak")
    parser.add_argument(
        "--over", type=Path, metavar="RECORDING", help="lay the demo's fourth lesson over a recording of it"
    )
    parser.add_argument("--size", default="1080p", help="of the film whose memory is measured")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if options.sync:
            synchrony(folder)
            return 0
        if options.over:
            over(options.over, folder)
            return 0
        if options.memory:
            shown = scene(line(options.memory), film_size(options.size, fps=25), overlay=False)
            write_film(Film(shown, COMPLETE, None, ()), folder / "a.mp4")
            print(f"{shown.clock.ends_s:.0f} s of film: {peak_mb():.0f} MB at the peak")
            return 0
        reached = measure("MP4 1080p30", COMPLETE, film_size("1080p"), folder)
        measure("MP4 720p60", COMPLETE, film_size("720p", fps=60), folder)
        measure("WebM 1080p30", kind_of(".webm", overlay=True), film_size("1080p"), folder)
        measure("MOV 1080p30", kind_of(".mov", overlay=True), film_size("1080p"), folder)
    return 0 if reached else 1


if __name__ == "__main__":
    sys.exit(main())
