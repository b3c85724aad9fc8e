"""Small scores for tests, written as places.

``line("6/5 6/8h 5/5")`` is an eighth on string 6 at fret 5, a hammer-on to fret 8, and so on. A place may be
followed by its attack (``h`` hammer-on, ``p`` pull-off, ``s`` slide, ``t`` tap), and by ``=`` and a fixed
finger; places joined by ``+`` start together; ``r`` is a rest.
"""

import re
from collections.abc import Iterable
from fractions import Fraction

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.note import Attack, Finger
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH, Value
from fretwright.theory.key import Key

_ATTACKS = {
    "": Attack.PLUCK,
    "h": Attack.HAMMER_ON,
    "p": Attack.PULL_OFF,
    "s": Attack.SLIDE,
    "t": Attack.TAP,
}
_NOTE = re.compile(r"(\d+)/(\d+)([hpst]?)(?:=([0-5]))?")


def head(text: str, neck: Neck) -> Head:
    """One note of the notation above."""
    string, fret, attack, finger = _NOTE.fullmatch(text).groups()  # type: ignore[union-attr]
    place = Place(int(string), int(fret))
    return Head(
        place,
        # a note off the neck still needs some pitch
        neck.pitch_at(place if neck.holds(place) else Place(place.string, 0)),
        _ATTACKS[attack],
        Finger(int(finger)) if finger else None,
    )


def events(text: str, neck: Neck, values: Iterable[Value]) -> list[Event]:
    """The events of a line, one for each word."""
    return [
        Event(value, () if word == "r" else tuple(head(one, neck) for one in word.split("+")))
        for word, value in zip(text.split(), values, strict=False)
    ]


def line(
    text: str,
    *,
    neck: Neck | None = None,
    value: Value = EIGHTH,
    values: Iterable[Value] | None = None,
    meter: Meter = COMMON_TIME,
    position: int | None = None,
    pickup: Fraction = Fraction(0),
) -> Score:
    """A score from words, all of one value unless ``values`` says otherwise."""
    neck = neck or Neck()
    row = values if values is not None else [value] * len(text.split())
    heading = Heading("line", "Line", neck, Key(0), TempoMap.constant(80), position=position)
    return assemble(heading, into_bars(events(text, neck, row), meter, pickup))


def shape(text: str, **options: object) -> Score:
    """A line that runs up a shape, written as frets of strings 6 to 1: ``5 8 / 5 7 / ...``."""
    strings = [part.split() for part in text.split("/")]
    words = [f"{6 - i}/{fret}" for i, frets in enumerate(strings) for fret in frets]
    return line(" ".join(words), **options)  # type: ignore[arg-type]


def fingers_of(score: Score) -> str:
    """The fingers in a row: ``1 4 1 3``; ``-`` where a note has none."""
    return " ".join("-" if note.finger is None else note.finger.mark for note in score.notes)
