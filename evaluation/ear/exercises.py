"""Exercises made by chance: single lines that a hand can play, with slurs, rests and mixed rhythm."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH, HALF, QUARTER, SIXTEENTH, WHOLE, Value
from fretwright.theory.key import Key

_NECK: Final = Neck()
_SHAPES: Final = (
    # frets from the first finger's, strings 6 to 1
    ((0, 3), (0, 2), (0, 2), (0, 2), (0, 3), (0, 3)),
    ((0, 2), (0, 2), (0, 2), (-1, 2), (0, 2), (0, 2)),
    ((0, 1, 3), (0, 2, 3), (0, 2, 3), (0, 2), (0, 1, 3), (0, 1, 3)),
    ((0, 1, 2, 3),) * 6,
)


def exercise(rng: np.random.Generator, *, slurs: bool = True, slides: float = 0.0) -> Score:
    """One exercise of four or more bars, eighths, sixteenths or mixed, with a tempo that suits it.

    ``slides`` is the share of the slurs that are slides.
    """
    ladder = _ladder(rng)
    kind = rng.choice(["eighths", "sixteenths", "mixed", "quarters"], p=[0.45, 0.2, 0.25, 0.1])
    slur_rate = float(rng.choice([0.0, 0.4, 0.8], p=[0.25, 0.4, 0.35])) if slurs else 0.0
    events = list(_events(rng, ladder, str(kind), slur_rate, slides))
    tempo = {"eighths": (60, 140), "sixteenths": (50, 90), "mixed": (60, 100), "quarters": (70, 140)}[kind]
    bpm = float(round(rng.uniform(*tempo)))
    heading = Heading("made", "Made", _NECK, Key(0), TempoMap.constant(bpm))
    return assemble(heading, into_bars(events))


def _ladder(rng: np.random.Generator) -> list[Place]:
    """The places of a shape, from the lowest up."""
    shape = _SHAPES[rng.integers(len(_SHAPES))]
    base = int(rng.integers(1, 11))
    return [Place(6 - row, base + step) for row, frets in enumerate(shape) for step in frets]


def _walk(rng: np.random.Generator, size: int, count: int) -> Iterator[int]:
    """Rungs of a ladder: runs, sequences of three, or a wandering line."""
    style = rng.choice(["run", "threes", "wander"])
    at, step = int(rng.integers(0, size // 2)), 1
    for index in range(count):
        yield at
        if style == "threes":
            at += (1, 1, -1)[index % 3] * step
        elif style == "wander":
            at += int(rng.choice([-3, -2, -1, -1, 1, 1, 2, 3])) if rng.random() > 0.08 else 0
        else:
            at += step
        if at >= size - 1 or at <= 0:
            step = -1 if at >= size - 1 else 1
            at = min(max(at, 0), size - 1)


def _values(rng: np.random.Generator, kind: str) -> Iterator[Value]:
    patterns = {
        "eighths": ([EIGHTH] * 8,),
        "sixteenths": ([SIXTEENTH] * 16,),
        "quarters": ([QUARTER] * 4, [QUARTER, QUARTER, HALF]),
        "mixed": (
            [QUARTER, EIGHTH, EIGHTH, QUARTER, QUARTER],
            [EIGHTH, SIXTEENTH, SIXTEENTH] * 4,
            [QUARTER, QUARTER, EIGHTH, EIGHTH, HALF],
            [EIGHTH] * 6 + [QUARTER],
        ),
    }[kind]
    while True:
        picked = patterns[rng.integers(len(patterns))]
        # a bar's worth; a pattern shorter or longer than a bar is cut by the assembler's ties
        yield from picked


def _events(
    rng: np.random.Generator, ladder: list[Place], kind: str, slur_rate: float, slides: float
) -> Iterator[Event]:
    count = {"eighths": 32, "sixteenths": 48, "mixed": 28, "quarters": 16}[kind]
    values = _values(rng, kind)
    before: Place | None = None
    for index, rung in enumerate(_walk(rng, len(ladder), count)):
        place, value = ladder[rung], next(values)
        if kind in ("mixed", "quarters") and index and rng.random() < 0.06:
            yield Event(value)
            before = None
            continue
        attack = Attack.PLUCK
        same = before is not None and before.string == place.string and before.fret != place.fret
        if same and before is not None and rng.random() < slur_rate:
            attack = Attack.HAMMER_ON if place.fret > before.fret else Attack.PULL_OFF
            if slides and rng.random() < slides:
                attack = Attack.SLIDE
        yield Event(value, (Head(place, _NECK.pitch_at(place), attack),))
        before = place
    yield Event(WHOLE, (Head(ladder[0], _NECK.pitch_at(ladder[0])),))
