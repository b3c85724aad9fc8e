"""``from:``: an exercise that takes over the keys of another one.

Keys are taken over as they were written, before they are understood; the exercise's own keys win.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from fretwright.base.spans import Span
from fretwright.course.entries import Entries, Entry
from fretwright.course.keys import (
    CHORD_KEYS,
    KEYS,
    LOWER_NOTES,
    LOWER_ROWS,
    ROW_KEYS,
    RULE_KEYS,
    TAB_KEYS,
    TECHNIQUE_KEYS,
)
from fretwright.course.lessonfile import Block
from fretwright.course.notebook import did_you_mean, quoted
from fretwright.course.techniquerows import is_row

_OWN_ALONE: Final = frozenset({"title", "remark", "from"})
"""Keys that are never taken over."""
_BY_NOTES: Final = frozenset(
    {*RULE_KEYS, *TAB_KEYS, "tab", "fingers", "strokes", "notes", "rhythm", "endings"}
)
"""Keys that say what is played note by note."""
_EXCLUDING: Final = {
    "notes": frozenset({"rhythm", *CHORD_KEYS}),
    "rhythm": frozenset({"notes", *CHORD_KEYS}),
    "tab": frozenset({*RULE_KEYS, *CHORD_KEYS, "move", "keys"}),
    "path": frozenset(CHORD_KEYS),
    "strum": frozenset({*_BY_NOTES, "picking", "targets"}),
    "picking": frozenset({*_BY_NOTES, "strum", "targets"}),
    "targets": frozenset({*_BY_NOTES, "strum", "picking", "voicings", "bass", "written", "lyrics"}),
    "chords": frozenset({"form", "change", "lyrics"}),
    "form": frozenset({"chords", "change", "lyrics"}),
    "change": frozenset({"chords", "form", "lyrics"}),
    "scale": frozenset({"keys"}),
    "key": frozenset({"keys"}),
    "move": frozenset({"keys"}),
    "keys": frozenset({"move", "positions", "voicings"}),
    "position": frozenset({"positions"}),
    "positions": frozenset({"position", "keys"}),
}
"""A key of its own, and the keys of the source that it puts out of force."""
_CHANGES_NOTES: Final = frozenset(
    {
        "path",
        "loop",
        "pattern",
        "shape",
        "strings",
        "lowest",
        "highest",
        "late",
        "positions",
        "tab",
        "rhythm",
        "notes",
    }
)
"""Keys of its own that change the number of notes, so that rows written for the source do not fit."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """An exercise with all its keys, taken over or its own."""

    block: Block
    entries: Entries
    source: str | None
    """What ``from`` says, as ``lesson/exercise`` unless it is in the same lesson."""
    suffix: str = ""
    """What is added to the block's id where it stands for several exercises (``in-b-flat``)."""
    words: str = ""
    """What is added to the title then (``in B flat``)."""

    @property
    def id(self) -> str:
        """Id of the exercise."""
        return f"{self.block.id}-{self.suffix}" if self.suffix else self.block.id

    @property
    def name(self) -> str:
        """``lesson/exercise``."""
        return f"{self.block.lesson}/{self.id}"


class Family:
    """All blocks of a course, and who takes over from whom."""

    def __init__(self, blocks: Sequence[Block]) -> None:
        # Where an id is taken twice, the first one has it.
        self._blocks: Mapping[str, Block] = {block.name: block for block in reversed(blocks)}
        self._order = {block.lesson: index for index, block in enumerate(blocks)}

    def source_of(self, block: Block) -> Block | None:
        """The block that ``from`` names, or None where nothing or nothing known is named."""
        entry = block.entries.get("from")
        return self._blocks.get(self._full_name(block, entry)) if entry is not None else None

    def in_order(self, blocks: Sequence[Block]) -> Iterator[Block]:
        """The blocks, each after the one it takes over from; those in a circle are reported and left out."""
        done: set[Span] = set()
        for block in blocks:
            chain = self._chain(block, done)
            if chain is None:
                continue
            for member in reversed(chain):
                done.add(member.span)
                yield member

    def _chain(self, block: Block, done: set[Span]) -> list[Block] | None:
        """The block, its source, the source's source and so on, as far as they are not done yet."""
        chain: list[Block] = []
        seen: set[Span] = set()
        here: Block | None = block
        while here is not None and here.span not in done:
            if here.span in seen:
                if here is block:
                    circle = " from ".join(quoted(member.id) for member in (*chain, block))
                    message = f"The sources go round in a circle: {circle}."
                    mend = "Write one of these exercises out by its own keys."
                    block.notebook.error("source-in-a-circle", block.entries["from"].span, message, mend)
                else:
                    refuse_broken_source(block)
                return None
            seen.add(here.span)
            chain.append(here)
            here = self.source_of(here)
        return chain

    def check_source(self, block: Block) -> None:
        """Write down a source that is unknown or taught later."""
        entry = block.entries.get("from")
        if entry is None or entry.is_empty:
            return
        source = self.source_of(block)
        if source is None:
            known = [self._short_name(block, other) for other in self._blocks.values() if other is not block]
            message = f"There is no exercise {quoted(entry.text)} to take over from."
            mend = did_you_mean(entry.text.strip(), known) if known else "Write the exercise out."
            block.notebook.error("unknown-source", entry.span, message, mend)
        elif self._order[source.lesson] > self._order[block.lesson]:
            message = f"{quoted(entry.text)} belongs to a later lesson."
            mend = "Write it out here, and let the later lesson take over from this one."
            block.notebook.error("later-source", entry.span, message, mend)

    def _full_name(self, block: Block, entry: Entry) -> str:
        text = entry.text.strip()
        return text if "/" in text else f"{block.lesson}/{text}"

    @staticmethod
    def _short_name(block: Block, other: Block) -> str:
        return other.id if other.lesson == block.lesson else other.name


def refuse_broken_source(block: Block) -> None:
    """Write down that nothing can be taken over from the source of an exercise."""
    entry = block.entries["from"]
    message = f"{quoted(entry.text)} has mistakes, so nothing can be taken over from it."
    block.notebook.error("broken-source", entry.span, message, "Mend that exercise first.")


def taken_over(own: Entries, source: Entries) -> Entries:
    """The keys of an exercise that takes over from another."""
    dropped: set[str] = set(_OWN_ALONE)
    # Beside strokes a rhythm says when chords are struck, and the chords stay.
    changing = own.keys() - ({"rhythm"} if {"strum", "picking"} & own.keys() else set())
    for name in changing:
        dropped |= _EXCLUDING.get(name, frozenset())
    if _CHANGES_NOTES & changing:
        dropped |= {*ROW_KEYS, *_rows_among(TECHNIQUE_KEYS, source)}
    if {*LOWER_NOTES, "tab"} & own.keys():
        dropped |= {"lower fingers", "lower grace fingers", "lower strokes", *_rows_among(LOWER_ROWS, source)}
    kept = {name: entry for name, entry in source.items() if name not in dropped and name in KEYS}
    return {**kept, **own}


def _rows_among(names: Sequence[str], source: Entries) -> set[str]:
    """The keys that have an entry for each note of the source; what is said of all notes holds for others."""
    return {name for name in names if name in source and is_row(name, source[name])}
