"""The way through a row of notes: legs, patterns, loops, and which of the notes are slurred.

The way is a row of legs, each up or down. Where a leg starts on the note the leg before ended on, that note
is not played twice.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, repeat
from typing import Final, TypeVar

from fretwright.course.entries import Entries, Entry
from fretwright.course.notebook import Notebook, did_you_mean, nearest, quoted
from fretwright.course.rhythm import Beat, read_rhythm
from fretwright.course.values import read_count, refuse
from fretwright.score.meter import Meter
from fretwright.score.note import Attack
from fretwright.theory.scale import Scale

_T = TypeVar("_T")

_SLURS: Final = {"hammer-on": Attack.HAMMER_ON, "pull-off": Attack.PULL_OFF, "slide": Attack.SLIDE}
_LEGS: Final = ("up", "down")
_NUMBERS: Final = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8}
_ORDINALS: Final = {"second": 2, "2nd": 2, "third": 3, "3rd": 3, "fourth": 4, "4th": 4}
_INTERVALS: Final = {"thirds": 3, "fourths": 4, "fifths": 5, "sixths": 6, "sevenths": 7, "octaves": 8}
_GROUPS: Final = re.compile(r"groups\s+of\s+([a-z]+|[2-8])")
_FROM_EVERY: Final = re.compile(r",?\s*\bfrom\s+every\s+(\S+)\s+note$")
_PLUCK: Final = re.compile(r"(?:the\s+)?first\s+of\s+(?:every\s+)?([a-z]+|[2-8])")
_NOTES_OF_A_MODE: Final = 7
"""Thirds, fourths and so on are counted in a scale that has each letter once."""
_MOST_STEPS: Final = 12
_MOST_LOOPS: Final = 64


@dataclass(frozen=True, slots=True)
class Way:
    """How a row of notes is gone through."""

    legs: tuple[str, ...]
    """``up`` or ``down``, one after the other."""
    loops: int
    """How often the legs are gone through."""
    pattern: tuple[int, ...]
    """Steps of one group, counted from 0; (0,) plays each note once."""
    advance: int
    """How many notes further each group starts."""
    slurs: frozenset[Attack]
    pluck_every: int | None
    """With 3 the first of every three notes is plucked whatever ``slurs`` says; None plucks none for that."""
    late: tuple[Beat, ...]
    """Rests before the first note."""

    def along(self, notes: Sequence[_T]) -> Iterator[_T]:
        """The notes, given from the lowest up, in the order in which they are played."""
        starts = range(0, len(notes) - max(self.pattern), self.advance)
        before: _T | None = None
        for leg in chain.from_iterable(repeat(self.legs, self.loops)):
            ordered = notes if leg == "up" else notes[::-1]
            run = [ordered[start + step] for start in starts for step in self.pattern]
            # Groups stay whole, so that accents fall where the pattern puts them; a plain run turns on one.
            turns = bool(run) and run[0] is before and self.pattern == (0,)
            yield from run[1:] if turns else run
            before = run[-1] if run else before


def read_way(entries: Entries, scale: Scale | None, meter: Meter, notebook: Notebook) -> Way:
    """What ``path``, ``loop``, ``pattern``, ``slur``, ``pluck`` and ``late`` say."""
    pattern, advance = _pattern(entries.get("pattern"), scale, notebook)
    return Way(
        legs=_legs(entries.get("path"), notebook),
        loops=read_count(entries.get("loop"), range(2, _MOST_LOOPS + 1), notebook) or 1,
        pattern=pattern,
        advance=advance,
        slurs=_slurs(entries.get("slur"), notebook),
        pluck_every=_pluck_every(entries, notebook),
        late=_late(entries.get("late"), meter, notebook),
    )


def _legs(entry: Entry | None, notebook: Notebook) -> tuple[str, ...]:
    if entry is None or entry.is_empty:
        return ("up",)
    legs = []
    for part in entry.parts():
        for word in re.split(r"\s+(?:and|then)\s+", part.text.lower()):
            if word in _LEGS:
                legs.append(word)
            else:
                message = f"{quoted(word)} is no way through a shape."
                near = nearest(word, _LEGS)
                mend = f'Did you mean "{near}"?' if near else 'Write up or down, or several: "up, down".'
                notebook.error("bad-value", part, message, mend)
    return tuple(legs)


def _pattern(entry: Entry | None, scale: Scale | None, notebook: Notebook) -> tuple[tuple[int, ...], int]:
    """The steps of one group, counted from 0, and how many notes further the next one starts."""
    if entry is None or entry.is_empty:
        return (0,), 1
    text = " ".join(entry.text.lower().split())
    tail = _FROM_EVERY.search(text)
    advance = _ORDINALS.get(tail[1]) if tail else 1
    steps = _steps(text[: tail.start()] if tail else text)
    if steps is None or advance is None:
        refuse(
            entry,
            'Write the steps of one group, the note it starts from being 1, such as "1 2 3" or "1 3"; or '
            '"groups of 3", "thirds", "sixths". "from every second note" may stand behind it.',
            notebook,
        )
        return (0,), 1
    if _named_interval(text) and scale is not None and len(scale.degrees) != _NOTES_OF_A_MODE:
        message = f"{scale.name} has {len(scale.degrees)} notes, so that it is not played in {quoted(text)}."
        notebook.error("bad-value", entry.span, message, f'Write the steps themselves: "1 {max(steps) + 1}".')
    return steps, advance


def _named_interval(text: str) -> bool:
    return text.partition(" ")[0].rstrip(",") in _INTERVALS


def _steps(text: str) -> tuple[int, ...] | None:
    if text in _INTERVALS:
        return (0, _INTERVALS[text] - 1)
    if match := _GROUPS.fullmatch(text):
        size = number_of(match[1])
        return tuple(range(size)) if size and size > 1 else None
    words = text.replace(",", " ").split()
    if 0 < len(words) <= _MOST_STEPS and all(re.fullmatch(r"[1-9]", word) for word in words) and "1" in words:
        return tuple(int(word) - 1 for word in words)
    return None


def number_of(word: str) -> int | None:
    """A count from one to eight in words, or in figures."""
    return int(word) if word.isdigit() else _NUMBERS.get(word)


def _slurs(entry: Entry | None, notebook: Notebook) -> frozenset[Attack]:
    if entry is None or entry.is_empty or entry.text.strip().lower() in {"none", "no"}:
        return frozenset()
    found = set()
    for part in entry.parts():
        for word in re.split(r"\s+and\s+", part.text.lower()):
            name = word.replace(" ", "-").removesuffix("s")
            if name in _SLURS:
                found.add(_SLURS[name])
            else:
                notebook.error("bad-value", part, f"{quoted(word)} is no slur.", did_you_mean(word, _SLURS))
    return frozenset(found)


def _pluck_every(entries: Entries, notebook: Notebook) -> int | None:
    entry = entries.get("pluck")
    if entry is None or entry.is_empty:
        return None
    match = _PLUCK.fullmatch(" ".join(entry.text.lower().split()))
    size = number_of(match[1]) if match else None
    if size is None or size == 1:
        refuse(entry, 'Write "first of two", "first of three" and so on, up to eight.', notebook)
        return None
    if "slur" not in entries:
        message = '"pluck" says which notes are plucked, and no key says how the others are slurred.'
        notebook.error("missing-key", entry.key, message, 'Add "slur: hammer-on, pull-off".')
    return size


def _late(entry: Entry | None, meter: Meter, notebook: Notebook) -> tuple[Beat, ...]:
    """The rests before the first note; the letters may be written with the r of a rest or without."""
    row = read_rhythm(entry, notebook)
    if entry is None or row is None:
        return ()
    if row.length >= meter.length or any(len(beat.signs) > 1 for beat in row.beats):
        refuse(
            entry, f"Write how much later it starts, less than a bar of {meter}, such as e or q.", notebook
        )
        return ()
    return tuple(Beat((replace(beat.signs[0], is_rest=True),)) for beat in row.beats)
