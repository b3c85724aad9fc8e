"""Patterns of the picking hand: rows of strokes, or of fingers, on a grid.

A bar of a pattern has as many entries as its grid has places: four in 4/4 are quarters, eight eighths, twelve
triplets. The pattern comes again until the chart is over.

    strum: d . d u . u d u
    picking: p i m i a i m i
"""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.score.meter import Meter
from fretwright.score.techniques import PickingFinger, Stroke
from fretwright.score.values import BASES, Value, value_of

MOST_PLACES: Final = 48
"""No bar of a pattern has more."""


class Bass(StrEnum):
    """Which bass string is meant."""

    ROOT = "root"
    """The lowest string of the chord."""
    OTHER = "other"
    """The string that alternates with it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """A stroke of the strumming hand."""

    stroke: Stroke
    bass: Bass | None = None
    """One bass string alone."""
    most: int | None = None
    """How many strings it passes over, counted from the one that it meets first; None for all."""
    is_muted: bool = False
    is_soft: bool = False
    is_accented: bool = False
    is_in_air: bool = False
    """It passes over the strings and touches none."""


@dataclass(frozen=True, slots=True)
class Pluck:
    """One finger of the picking hand on its string."""

    finger: PickingFinger
    string: int | None
    """Where the teacher fixed it."""
    is_accented: bool


class Silence(StrEnum):
    """What is no sound of its own."""

    REST = "rest"
    """The strings are damped."""


Action = Strike | tuple[Pluck, ...] | Silence


@dataclass(frozen=True, slots=True)
class Step:
    """One place of the grid at which something is done."""

    at: Fraction
    """From the start of its bar, in whole notes."""
    action: Action
    span: Span


@dataclass(frozen=True, slots=True)
class PatternBar:
    """One bar of a pattern."""

    unit: Fraction
    """Length of a place of its grid, in whole notes."""
    steps: tuple[Step, ...]
    """In order of time; places where nothing is done are not among them."""
    values: tuple[Value, ...] = ()
    """How the bar is divided on the page, where a row of rhythm letters says it."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """A row of strokes or fingers."""

    bars: tuple[PatternBar, ...]

    def bar(self, nth: int) -> PatternBar:
        """What is played in the nth bar of a chart, from 0."""
        return self.bars[nth % len(self.bars)]


EntryReader = Callable[[Span, Stroke, Notebook], Action | None]
"""Reads one entry; the stroke is the way that a hand which keeps time moves at its place."""


def read_strum(entry: Entry, meter: Meter, notebook: Notebook) -> Pattern | None:
    """A row of strokes, or None with findings."""
    return _read(entry, meter, read_strike, notebook)


def read_picking(entry: Entry, meter: Meter, notebook: Notebook) -> Pattern | None:
    """A row of picking fingers, or None with findings."""
    return _read(entry, meter, read_plucks, notebook)


def on_every_beat(meter: Meter, span: Span) -> Pattern:
    """A down-stroke on each beat."""
    down = Strike(stroke=Stroke.DOWN)
    steps = tuple(Step(meter.beat * beat, down, span) for beat in range(meter.beats))
    return Pattern((PatternBar(meter.beat, steps),))


def _read(entry: Entry, meter: Meter, read: EntryReader, notebook: Notebook) -> Pattern | None:
    bars = [bar for bar in (_bar(words, meter, read, notebook) for words in _bars(entry)) if bar is not None]
    if notebook.is_broken or not bars:
        return None
    if not any(bar.steps for bar in bars):
        notebook.error("nothing-to-play", entry.span, "The pattern strikes no string.", "Add a stroke.")
        return None
    return Pattern(tuple(bars))


def _bars(entry: Entry) -> Iterator[list[Span]]:
    """The words of each bar; a line of its own is a bar too."""
    for line in entry.rows():
        words: list[Span] = []
        for match in re.finditer(r"\|+|[^\s|]+", line.text):
            if match[0].startswith("|"):
                if words:
                    yield words
                words = []
            else:
                words.append(line.moved(match.start(), match[0]))
        if words:
            yield words


def _bar(words: Sequence[Span], meter: Meter, read: EntryReader, notebook: Notebook) -> PatternBar | None:
    unit = meter.length / len(words)
    if len(words) > MOST_PLACES or not is_written(unit, meter):
        message = f"{len(words)} entries do not divide a {meter} bar into note values."
        mend = f"Write {_fitting(meter)} entries for each bar, and a dot where nothing is struck."
        notebook.error("pattern-does-not-fit", words[0], message, mend)
        return None
    steps = []
    for index, word in enumerate(words):
        at = unit * index
        action = None if word.text in {".", "-"} else read(word, pendulum(at, unit, meter), notebook)
        if action is not None:
            steps.append(Step(at, action, word))
    return PatternBar(unit, tuple(steps))


def is_triplet(unit: Fraction) -> bool:
    """Whether places of this length are notes of a triplet."""
    return value_of(unit) is None and unit * Fraction(3, 2) in BASES


def is_written(unit: Fraction, meter: Meter) -> bool:
    """Whether places of this length are note values of a bar."""
    return value_of(unit) is not None or (is_triplet(unit) and not meter.is_compound)


def _fitting(meter: Meter) -> str:
    """How many entries are usual: one, two or four for a beat; one, three or six in compound time."""
    parts = (1, 3, 6) if meter.is_compound else (1, 2, 4)
    counts = [str(meter.beats * part) for part in parts]
    return f"{', '.join(counts[:-1])} or {counts[-1]}"


def pendulum(at: Fraction, unit: Fraction, meter: Meter) -> Stroke:
    """The way a hand that keeps time moves at a place: down on the beat, up between.

    Common practice, no source. Places of a beat or longer are all down-strokes; groups of three go down,
    up, down and start anew.
    """
    nth = (at % meter.beat) / unit
    return Stroke.DOWN if nth.denominator > 1 or nth % 2 == 0 else Stroke.UP


_STRIKE = re.compile(
    r"(?P<way>[duDU])(?P<how>[xs]?)(?P<most>[1-9]?)|\((?P<air>[du])\)|(?P<muted>[xX])|(?P<bass>[bBoO])|(?P<rest>r)"
)
_WAYS: Final = {"d": Stroke.DOWN, "u": Stroke.UP}
_STRIKE_MEND: Final = (
    "Write d or u for a stroke down or up, a capital letter for an accent, x for a muted stroke, (d) or (u) "
    "for one in the air, b for the bass, r for a rest, a dot for nothing."
)


def read_strike(word: Span, swing: Stroke, notebook: Notebook) -> Action | None:
    """One entry of a row of strokes; ``swing`` is the way of the hand there."""
    match = _STRIKE.fullmatch(word.text)
    if match is None:
        notebook.error("bad-value", word, f"{quoted(word.text)} is no stroke.", _STRIKE_MEND)
        return None
    if match["rest"]:
        return Silence.REST
    if match["air"]:
        return Strike(stroke=_WAYS[match["air"]], is_in_air=True)
    if match["muted"]:
        return Strike(stroke=swing, is_muted=True, is_accented=match["muted"].isupper())
    if match["bass"]:
        bass = Bass.ROOT if match["bass"].lower() == "b" else Bass.OTHER
        return Strike(stroke=Stroke.DOWN, bass=bass, is_accented=match["bass"].isupper())
    return Strike(
        stroke=_WAYS[match["way"].lower()],
        most=int(match["most"]) if match["most"] else None,
        is_muted=match["how"] == "x",
        is_soft=match["how"] == "s",
        is_accented=match["way"].isupper(),
    )


_PLUCK = re.compile(r"([pimaPIMA])([1-9]?)")
_PLUCK_MEND: Final = (
    "Write p i m a for thumb, index, middle and ring finger, together for strings plucked together (pa), a "
    "number behind one for its string (p5), r for a rest, a dot for nothing."
)


def read_plucks(word: Span, _: Stroke, notebook: Notebook) -> Action | None:
    """One entry of a row of picking fingers."""
    if word.text == "r":
        return Silence.REST
    found = list(_PLUCK.finditer(word.text))
    fingers = [match[1].lower() for match in found]
    if not found or "".join(match[0] for match in found) != word.text or len(set(fingers)) < len(fingers):
        notebook.error("bad-value", word, f"{quoted(word.text)} names no picking finger.", _PLUCK_MEND)
        return None
    return tuple(
        Pluck(PickingFinger(match[1].lower()), int(match[2]) if match[2] else None, match[1].isupper())
        for match in found
    )
