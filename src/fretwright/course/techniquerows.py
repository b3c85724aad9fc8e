"""What is asked of notes by keys of their own: palm mute, accents, the picking hand's fingers.

A key says of which notes it speaks: all of them, those of some bars, the first of each group, bar or beat; or
it has a row with an entry for each column, in which a chord may have a sign for each string, from the lowest
one up, as a row of fingers has.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

from fretwright.base.spans import Span
from fretwright.course.entries import Entries, Entry
from fretwright.course.keys import TECHNIQUE_KEYS
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.rhythm import value_of_letters, value_of_words
from fretwright.course.rows import STROKES, fits, words_of
from fretwright.course.way import number_of
from fretwright.score.assemble import BarOfEvents, Event, Head
from fretwright.score.note import Attack
from fretwright.score.techniques import PickingFinger, Roll

FLAG_KEYS: Final = {
    "palm mute": "palm_mute", "let ring": "let_ring", "staccato": "staccato", "accent": "accent",
    "swell": "swell",
}  # fmt: skip
"""Keys of what is either asked or not, and the field that each sets."""
PICKING_HAND: Final = "picking hand"
LOWER: Final = "lower "
"""Stands before a key that speaks of the lower voice."""

_ROW_SIGN: Final = re.compile(r"[xdu.\-|]+|(?:[whqest]\.{0,2}3?|-)+", re.IGNORECASE)
_BARS: Final = re.compile(r"bars?\s+([0-9]{1,4})(?:\s*(?:to|-|–)\s*(?:bar\s+)?([0-9]{1,4}))?")
_FIRST: Final = re.compile(r"(?:the\s+)?first\s+of\s+(?:each|every)?\s*(bar|beat|[a-z]+|[2-8])")
_WHICH_MEND: Final = (
    'Write "all", "bars 1 to 2", "first of three", "first of each bar", or a row with an x for each note '
    "that is meant and a dot for each other."
)


@dataclass(frozen=True, slots=True)
class _Column:
    """What starts at one moment."""

    bar: int
    """Index of its bar."""
    event: int
    """Index of its event in the bar."""
    at: Fraction
    """Time from the start of its bar."""
    heads: tuple[Head, ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    """How one key is read."""

    signs: Callable[[str], Any]
    """What a sign of a row stands for; None for no sign of this key."""
    words: Callable[[str], Any]
    """What is asked by a word before the notes that it is asked of: a note value, a direction."""
    mend: str
    token: re.Pattern[str] = re.compile(r".")
    """One sign of a chord's several."""
    usual: Any = None
    """What is asked where words only say of which notes; None where they have to say more."""
    of_chords: bool = False
    """Whether words such as "all" mean chords alone."""


def _x(sign: str) -> bool | None:
    return True if sign == "x" else None


def _picked(sign: str) -> PickingFinger | None:
    return PickingFinger(sign) if sign in set(PickingFinger) else None


_ROLLS: Final = {"u": Roll.UP, "d": Roll.DOWN, "x": Roll.UP, "up": Roll.UP, "down": Roll.DOWN}
_FLAG: Final = _Kind(_x, lambda _: None, _WHICH_MEND, usual=True)
_KINDS: Final[Mapping[str, _Kind]] = {
    **dict.fromkeys(FLAG_KEYS, _FLAG),
    "tremolo": _Kind(
        value_of_letters,
        value_of_words,
        'Write how fast and where, such as "thirty-seconds" or "sixteenths, bars 1 to 2"; or a row of rhythm '
        "letters with a dot for each note that is played once.",
        re.compile(r"-|[whqest]\.{0,2}3?"),
    ),
    "rake": _Kind(
        STROKES.get,
        STROKES.get,
        "Write a row with d or u for the note that is raked into, and dots elsewhere.",
    ),
    "roll": _Kind(
        _ROLLS.get,
        _ROLLS.get,
        'Write "all", "down, bars 1 to 2" or "first of each bar"; or a row with u (from the lowest string '
        "up) or d for each chord that is rolled, and dots elsewhere.",
        usual=Roll.UP,
        of_chords=True,
    ),
    PICKING_HAND: _Kind(
        _picked, lambda _: None, "Write p, i, m or a for each note, and a dot where it is open or slurred."
    ),
}  # fmt: skip


def is_row(name: str, entry: Entry) -> bool:
    """Whether what is written for a key of this module has an entry for each note."""
    return name.removeprefix(LOWER) == PICKING_HAND or all(
        _ROW_SIGN.fullmatch(word.text) for word in entry.words()
    )


def with_techniques(
    entries: Entries, bars: Sequence[BarOfEvents], notebook: Notebook, *, lower: bool = False
) -> tuple[BarOfEvents, ...]:
    """The bars with what the keys of this module ask of one of their voices."""
    asked = tuple(bars)
    for name in TECHNIQUE_KEYS:
        entry = entries.get(LOWER * lower + name)
        if entry is not None and not entry.is_empty and asked:
            asked = _Asked(entry, name, asked, notebook, lower=lower).bars()
    return asked


class _Asked:
    """One key laid upon the notes."""

    def __init__(
        self, entry: Entry, name: str, bars: tuple[BarOfEvents, ...], notebook: Notebook, *, lower: bool
    ) -> None:
        self._entry = entry
        self._name = name
        self._kind = _KINDS[name]
        self._bars = bars
        self._notebook = notebook
        self._is_lower = lower
        self._is_row = is_row(name, entry)
        self._columns = list(_columns(bars, lower=lower))

    def bars(self) -> tuple[BarOfEvents, ...]:
        return self._with(self._by_row() if self._is_row else self._by_words())

    def _refuse(self, span: Span) -> None:
        message = f'{quoted(span.text)} cannot be read as "{self._entry.key.text}".'
        self._notebook.error("bad-value", span, message, self._kind.mend)

    def _by_row(self) -> dict[int, tuple[Any, ...]]:
        """What is asked of the heads of each column that has a sign."""
        words = words_of(self._entry)
        if not words or not fits(self._entry, words, len(self._columns), "notes", self._notebook):
            return {}
        asked = {}
        for index, (word, column) in enumerate(zip(words, self._columns, strict=True)):
            signs = self._signs(word, len(column.heads))
            if signs is None:
                self._refuse(word)
            elif any(sign is not None for sign in signs):
                asked[index] = signs
        return asked

    def _signs(self, word: Span, count: int) -> tuple[Any, ...] | None:
        """What is asked of each head of a column; None for what cannot be read."""
        text = word.text.lower()
        whole = self._kind.signs(text)
        if whole is not None or text in {".", "-"}:
            return (whole,) * count
        marks = self._kind.token.findall(text)
        signs = [None if mark in {".", "-"} else self._kind.signs(mark) for mark in marks]
        is_read = all(sign is not None or mark in {".", "-"} for sign, mark in zip(signs, marks, strict=True))
        return tuple(signs) if len(signs) == count and is_read and "".join(marks) == text else None

    def _by_words(self) -> dict[int, tuple[Any, ...]]:
        """What is asked of the columns that words choose."""
        what = None
        chosen: set[int] | None = None
        for part in self._entry.parts():
            text = " ".join(part.text.lower().split())
            said = self._kind.words(text)
            if said is not None and what is None:
                what = said
                continue
            picked = self._which(text)
            if picked is None:
                self._refuse(part)
                return {}
            chosen = picked | (chosen or set())
        what = self._kind.usual if what is None else what
        if what is None:
            self._refuse(self._entry.span)
            return {}
        where: Sequence[int] = range(len(self._columns)) if chosen is None else sorted(chosen)
        if self._kind.of_chords:
            where = [index for index in where if len(self._columns[index].heads) > 1]
        if not where:
            message = f"{quoted(self._entry.text)} is said of no note of this exercise."
            self._notebook.error("nothing-to-ask", self._entry.span, message, self._kind.mend)
        return {index: (what,) * len(self._columns[index].heads) for index in where}

    def _which(self, text: str) -> set[int] | None:
        """The columns that words choose, or None for what cannot be read."""
        everywhere = range(len(self._columns))
        if text in {"all", "all notes", "yes"}:
            return set(everywhere)
        if match := _BARS.fullmatch(text):
            first, last = int(match[1]), int(match[2] or match[1])
            upbeat = 0 if self._bars[0].is_pickup else 1
            return {index for index in everywhere if first <= self._columns[index].bar + upbeat <= last}
        if match := _FIRST.fullmatch(text):
            if match[1] == "bar":
                return {index for index in everywhere if self._columns[index].at == 0}
            if match[1] == "beat":
                return {index for index in everywhere if self._is_on_beat(self._columns[index])}
            size = number_of(match[1])
            return set(everywhere[::size]) if size else None
        return None

    def _is_on_beat(self, column: _Column) -> bool:
        bar = self._bars[column.bar]
        origin = bar.meter.length - bar.length if bar.is_pickup else Fraction(0)
        return (origin + column.at) % bar.meter.beat == 0

    def _with(self, asked: Mapping[int, tuple[Any, ...]]) -> tuple[BarOfEvents, ...]:
        """The bars with what is asked written into their heads."""
        by_event = {
            (self._columns[index].bar, self._columns[index].event): what for index, what in asked.items()
        }
        bars = []
        for nth, bar in enumerate(self._bars):
            events = tuple(
                self._event(event, by_event.get((nth, index)))
                for index, event in enumerate(bar.lower if self._is_lower else bar.events)
            )
            bars.append(replace(bar, lower=events) if self._is_lower else replace(bar, events=events))
        return tuple(bars)

    def _event(self, event: Event, what: tuple[Any, ...] | None) -> Event:
        if what is None:
            return event
        heads = (self._head(head, each) for head, each in zip(event.heads, what, strict=True))
        return replace(event, heads=tuple(heads))

    def _head(self, head: Head, what: Any) -> Head:  # noqa: ANN401 - a flag, a value, a stroke or a finger
        if what is None or head.tied:
            return head
        is_picked = head.attack is Attack.PLUCK or (self._name == PICKING_HAND and head.attack is Attack.TAP)
        if not is_picked and self._name not in FLAG_KEYS:
            # Words such as "all" mean all that can be; a sign for this very note was meant.
            if self._is_row:
                self._refuse_slurred(head)
            return head
        if self._name == PICKING_HAND:
            return replace(head, picking_finger=what)
        field = FLAG_KEYS.get(self._name, self._name)
        return replace(head, techniques=replace(head.techniques, **{field: what}))

    def _refuse_slurred(self, head: Head) -> None:
        message = f"{quoted(self._name)} is asked of {head.place}, a {head.attack.value} that is not plucked."
        mend = "Write a dot there, or pluck the note."
        self._notebook.error("not-plucked", self._entry.span, message, mend)


def _columns(bars: Sequence[BarOfEvents], *, lower: bool) -> Iterator[_Column]:
    """Everything that starts, in order of time."""
    for nth, bar in enumerate(bars):
        at = Fraction(0)
        for index, event in enumerate(bar.lower if lower else bar.events):
            if any(not head.tied for head in event.heads):
                yield _Column(nth, index, at, event.heads)
            at += event.value.duration
