"""Text that the desk writes for the teacher: a block from choices, from places on the neck, from a chord.

Nothing is kept besides the text: what a helper wrote is the teacher's own and reads like it. Every block is
one that :mod:`fretwright.course.reader` reads without an error.
"""

import contextlib
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, TypeVar

from fretwright.base.errors import FretboardError, NotationError, UsageError
from fretwright.course.lessonfile import Block, read_lesson
from fretwright.course.notebook import Notebook
from fretwright.course.page import page_of
from fretwright.course.rhythm import NOTE_WORDS
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.shapes import Shape, positions_of, shape_at
from fretwright.fretboard.voicing import Voicing, parse_frets
from fretwright.fretboard.voicing_names import name_of_frets
from fretwright.fretboard.voicings import voicing_of
from fretwright.theory.scale import SCALE_KINDS, Scale, plain_name

Thing = TypeVar("Thing")

SCALE_WORDS: Final = tuple(SCALE_KINDS)
NOTE_CHOICES: Final = tuple(word for word in NOTE_WORDS if "notes" not in word)
PATHS: Final = ("up", "down", "up, down", "down, up")
SLURS: Final = ("hammer-on", "pull-off", "slide", "hammer-on, pull-off")
_EIGHTHS_IN_BAR: Final = 8
_HELD: Final = {1: "e", 2: "q", 3: "q.", 4: "h", 6: "h.", 8: "w"}
_MOST_PLACES: Final = 64
_FENCE: Final = re.compile(r" {0,3}(`{3,}|~{3,})(.*)")
_TEMPO: Final = range(10, 401)


@dataclass(frozen=True, slots=True)
class RuleChoices:
    """What the teacher picked for an exercise by rule."""

    scale: str
    position: int
    path: str = "up, down"
    notes: str = "eighths"
    slow_bpm: int = 60
    goal_bpm: int = 60
    slur: str = ""
    """Empty for all plucked."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing that a set of places on the neck may be."""

    says: str
    """In a few words: ``A minor pentatonic, box 1, position 5``."""
    block: str
    """An exercise that plays it."""
    scale: str = ""
    """Where the places are a scale by name."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a block goes into a text."""

    row: int
    """Before this line of the text, from 0."""
    text: str
    """The block with the empty lines it needs around it."""


def rule_block(choices: RuleChoices, taken: Collection[str] = ()) -> str:
    """An exercise by rule.

    Raises :class:`~fretwright.base.errors.FretwrightError` where the scale cannot be read, and
    :class:`~fretwright.base.errors.UsageError` where another choice is none of those offered.
    """
    scale = Scale.parse(choices.scale)
    for chosen, offered in (
        (choices.path, PATHS),
        (choices.notes, NOTE_CHOICES),
        (choices.slur, ("", *SLURS)),
    ):
        if chosen not in offered:
            raise UsageError(f"{chosen[:60]!r} is none of the choices.", f"Use one of: {', '.join(offered)}.")
    tempo = _tempo(choices.slow_bpm, choices.goal_bpm)
    lines = [
        f"scale: {scale.name}",
        f"position: {choices.position}",
        f"path: {choices.path}",
        f"notes: {choices.notes}",
        *([f"slur: {choices.slur}"] if choices.slur else []),
        f"tempo: {tempo}",
    ]
    return _block(free_id(scale.name, taken), lines)


def chords_held(frets_text: str, neck: Neck) -> tuple[Voicing, ...]:
    """The grip under each name it may have, the likeliest first.

    Raises :class:`~fretwright.base.errors.NotationError` where the frets cannot be read or are no chord by
    name, and :class:`~fretwright.base.errors.FretboardError` where they cannot be held.
    """
    frets = parse_frets(frets_text)
    names = name_of_frets(frets, neck)
    if not names:
        raise NotationError("These notes are no chord with a common name.", "Write them out as tab.")
    return tuple(voicing_of(name.chord, frets, neck) for name in names)


def chord_block(voicing: Voicing, taken: Collection[str] = ()) -> str:
    """An exercise that strikes a chord once, with its name above and its fingers below."""
    column = {place.string: place.fret for place in voicing.places}
    name = str(voicing.chord)
    fingers = "".join(mark for mark in voicing.fingers_text if mark != "x")
    lines = [
        f"title: {name}",
        "tempo: 60",
        f"chords: {name}",
        "rhythm: w",
        f"fingers: {fingers}",
        *_tab(voicing.neck, [[column]]),
    ]
    return _block(free_id(f"chord {name}", taken), lines)


def readings_of(places: Collection[Place], neck: Neck, taken: Collection[str] = ()) -> tuple[Reading, ...]:
    """What the places may be: every scale of which they are one position, and last a line of single notes.

    Relative scales share their places; those whose tonic is the lowest note come first.

    Raises :class:`~fretwright.base.errors.UsageError` for no place or too many, and
    :class:`~fretwright.base.errors.FretboardError` off the neck.
    """
    if not 0 < len({*places}) <= _MOST_PLACES:
        raise UsageError(f"Choose from 1 to {_MOST_PLACES} places on the neck.")
    rising = sorted({*places}, key=lambda place: (neck.midi_at(place), -place.string))
    scales = _scales_of(rising, neck)
    shapes = [shape for scale in scales if (shape := _shape_of(scale, rising, neck)) is not None]
    found = [
        Reading(
            shape.name, rule_block(RuleChoices(shape.scale.name, shape.position), taken), shape.scale.name
        )
        for shape in shapes
    ]
    named = scales[0].name if scales else ""
    lines = [
        *([f"scale: {named}"] if named else []),
        "tempo: 60",
        f"rhythm: {_rhythm(len(rising))}",
        *_tab(neck, _bars(rising)),
    ]
    count = f"{len(rising)} {'note' if len(rising) == 1 else 'notes'} in a line"
    says = f"{count}, of {named}" if named else count
    return (*found, Reading(says, _block(free_id(named or "line", taken), lines), named))


def ids_in(text: str) -> frozenset[str]:
    """The ids of all exercise blocks of a lesson's text."""
    parts = read_lesson(page_of("", text), "", Notebook()).parts
    return frozenset(part.id for part in parts if isinstance(part, Block))


def free_id(words: str, taken: Collection[str]) -> str:
    """An id made from the words that no exercise of the lesson has."""
    spelled = re.sub(r"(?<=[A-Ga-g])[#♯]", " sharp ", words)
    spelled = re.sub(r"\b([A-G])b(?=$|[^a-z])", r"\1 flat ", spelled)
    simple = re.sub(r"[^a-z0-9]+", "-", spelled.lower()).strip("-")[:50].strip("-")
    base = simple if simple[:1].isalpha() else f"exercise-{simple}".strip("-")
    numbered = (f"{base}-{number}" for number in range(2, len(taken) + 3))
    return next(name for name in (base, *numbered) if name not in taken)


def spot_for(text: str, line: int, block: str) -> Spot:
    """Where to put a block when the cursor is in ``line`` (from 1): there, or after the block it is in."""
    lines = text.split("\n")
    front = _end_of_front_matter(lines)
    ends = [row for row in _rows_outside_fences(lines, front) if row >= line]
    row = front if line <= front else ends[0] if ends else len(lines)
    before = "" if row == 0 or not lines[row - 1].strip() else "\n"
    after = "\n" if row < len(lines) and lines[row].strip() else ""
    return Spot(row, f"{before}{block}{after}")


def _rows_outside_fences(lines: Sequence[str], front: int) -> Iterator[int]:
    """How many lines stand before each place below the front matter that is inside no fenced block."""
    fence = ""
    for number, line in enumerate(lines[front:], start=front + 1):
        mark = _FENCE.match(line)
        if mark and not fence:
            fence = mark[1]
        elif mark and mark[1].startswith(fence) and not mark[2].strip():
            fence = ""
        if not fence:
            yield number


def _end_of_front_matter(lines: Sequence[str]) -> int:
    """How many lines the keys above the prose take; 0 where there are none."""
    if lines[0].rstrip() != "---":
        return 0
    return next((row + 1 for row, line in enumerate(lines) if row and line.rstrip() == "---"), 0)


def _tempo(slow_bpm: int, goal_bpm: int) -> str:
    if slow_bpm not in _TEMPO or goal_bpm not in _TEMPO or goal_bpm < slow_bpm:
        raise UsageError(
            f"{slow_bpm} to {goal_bpm} is no ladder of tempos.",
            f"Use {_TEMPO.start} to {_TEMPO.stop - 1} beats a minute, the slower one first.",
        )
    return f"{slow_bpm}" if slow_bpm == goal_bpm else f"{slow_bpm} to {goal_bpm}"


def _scales_of(rising: Sequence[Place], neck: Neck) -> tuple[Scale, ...]:
    """Scales that have just these notes: those on the lowest one first, then those of the usual kinds."""
    sounding = [neck.midi_at(place) % 12 for place in rising]
    wanted = frozenset(sounding)
    found: list[Scale] = []
    for tonic in dict.fromkeys(sounding):
        for kind in SCALE_KINDS.values():
            # The one of the two spellings of the tonic that needs fewer signs.
            scales = [Scale(plain_name(tonic, sharps=sharps), kind) for sharps in (True, False)]
            scale = min(scales, key=lambda each: sum(abs(note.alter) for note in each.notes))
            if frozenset(note.pitch_class for note in scale.notes) == wanted:
                found.append(scale)
    return tuple(found)


def _shape_of(scale: Scale, rising: Sequence[Place], neck: Neck) -> Shape | None:
    """The scale in the position that lies on just these places; where several do, the one most at rest."""
    wanted = frozenset(rising)
    frets = range(max(0, min(place.fret for place in rising) - 1), max(place.fret for place in rising) + 1)
    at_rest = [shape for shape in positions_of(scale, neck) if shape.position in frets]
    for shape in (*at_rest, *_laid_over(scale, neck, frets)):
        if frozenset(note.place for note in shape.notes) == wanted:
            return shape
    return None


def _laid_over(scale: Scale, neck: Neck, positions: Iterable[int]) -> Iterator[Shape]:
    for position in positions:
        with contextlib.suppress(FretboardError):
            yield shape_at(scale, neck, position)


def _block(name: str, lines: Sequence[str]) -> str:
    return "\n".join([f"```exercise {name}", *lines, "```", ""])


def _rhythm(count: int) -> str:
    """Eighths in bars of 4/4; the last note is held as far as one sign can say, and rests fill the bar."""
    room = _EIGHTHS_IN_BAR - (count - 1) % _EIGHTHS_IN_BAR
    last = _HELD.get(room) or f"e r{_HELD[room - 1]}"
    signs = [*["e"] * (count - 1), last]
    return " | ".join(" ".join(bar) for bar in _in_bars(signs))


def _in_bars(things: Sequence[Thing]) -> list[Sequence[Thing]]:
    return [things[at : at + _EIGHTHS_IN_BAR] for at in range(0, len(things), _EIGHTHS_IN_BAR)]


def _bars(rising: Sequence[Place]) -> list[list[dict[int, int]]]:
    return [[{place.string: place.fret} for place in bar] for bar in _in_bars(rising)]


def _tab(neck: Neck, bars: Sequence[Sequence[dict[int, int]]]) -> list[str]:
    """Rows of text tab, the highest string on top; each column holds a fret by string."""
    names = [str(pitch.name) for pitch in neck.tuning.open_pitches]
    if names[0] == names[-1] and len(names[0]) == 1:
        names[0] = names[0].lower()
    wide = max(map(len, names))
    rows = ["tab: |"]
    for string, name in enumerate(names, start=1):
        cells = "|".join("-" + "".join(_cell(column, string) for column in bar) for bar in bars)
        rows.append(f"  {name.ljust(wide)}|{cells}|")
    return rows


def _cell(column: dict[int, int], string: int) -> str:
    wide = max(len(str(fret)) for fret in column.values())
    return str(column.get(string, "")).rjust(wide, "-") + "-"
