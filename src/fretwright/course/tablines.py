"""The lines of a tab: each note with its signs, as :mod:`~fretwright.course.tabsigns` reads them."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Final

from fretwright.course.rhythm import letters_of
from fretwright.course.tabbend import bend_text
from fretwright.course.tabline import SLIDES, TAP
from fretwright.course.tabsigns import SLURS
from fretwright.fretboard.neck import Place
from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar, Score
from fretwright.score.techniques import HarmonicKind, SlideEnd, Vibrato
from fretwright.score.values import SIXTEENTH

Column = tuple[Fraction, tuple[Note, ...]]
"""What starts together in a voice, and when."""

_WIDEST_SYSTEM: Final = 88
_USUAL_TIMES: Final = 2
_LETTERS: Final = {attack: sign for sign, attack in SLURS.items() if attack is not Attack.SLIDE}
_TOUCHES_NOTHING: Final = frozenset("-|:/\\")
"""Ends of a line that no number touches."""
_IN: Final = {SlideEnd.BELOW: "/", SlideEnd.ABOVE: "\\"}
_OUT: Final = {None: "", SlideEnd.ABOVE: "/", SlideEnd.BELOW: "\\"}


def tab_lines(
    score: Score, columns: Sequence[Column], waves: tuple[Vibrato | None, Vibrato | None]
) -> list[str]:
    """The lines of all systems of one voice, an empty one between each two.

    ``waves`` are the kinds of vibrato that one ``~`` and two stand for. Raises
    :class:`~fretwright.base.errors.ScoreError` for a bend that no decimal number of frets says.
    """
    return _Writer(score, columns, waves).lines()


class _Writer:
    def __init__(
        self, score: Score, columns: Sequence[Column], waves: tuple[Vibrato | None, Vibrato | None]
    ) -> None:
        self._score = score
        self._columns = columns
        self._waves = waves
        self._left = _left_notes(columns)

    def lines(self) -> list[str]:
        blocks = [self._bar_block(bar) for bar in self._score.bars]
        lines: list[str] = []
        for system in self._systems(blocks):
            if lines:
                lines.append("")
            for string, label in enumerate(_labels(self._score)):
                end = _times(self._score.bars[system[-1]]) if string == 0 else ""
                lines.append(label + "".join(blocks[index][string] for index in system) + "|" + end)
        return lines

    def _bar_block(self, bar: Bar) -> list[str]:
        """One bar on every string, from its bar line up to the next one."""
        inside = [notes for at, notes in self._columns if bar.start <= at < bar.end]
        opening = "|:" if bar.opens_repeat else "|"
        closing = "-:" if bar.closes_repeat else "-"
        strings = list(self._score.neck.tuning.strings)
        lines = dict.fromkeys(strings, opening)
        for notes in inside:
            leads = self._leads(notes, lines)
            before = max(1, *(len(lead) for lead in leads.values()))
            # All numbers of a column start together: what leads to them is filled up on the left.
            texts = {
                note.string: leads[note.string].rjust(before, "-") + _core(note) + self._behind(note)
                for note in notes
            }
            width = max(len(text) for text in texts.values())
            for string in strings:
                lines[string] += texts.get(string, "").ljust(width, "-")
        if not inside:
            lines = {string: f"{line}--" for string, line in lines.items()}
        return [lines[string] + closing for string in strings]

    def _leads(self, notes: Sequence[Note], lines: Mapping[int, str]) -> dict[int, str]:
        """What stands before the number of each string: the sign of a slur, small notes, or nothing.

        A slide sign joins two numbers where it touches both of them, or neither.
        """
        leads = {note.string: self._lead(note) for note in notes}
        slides = [string for string, lead in leads.items() if lead in SLIDES]
        is_narrow = all(len(lead) <= 1 for lead in leads.values())
        if not is_narrow or any(lines[string][-1] in _TOUCHES_NOTHING for string in slides):
            leads.update({string: f"-{leads[string]}-" for string in slides})
        return leads

    def _lead(self, note: Note) -> str:
        techniques = note.techniques
        if techniques.graces:
            return f"-{_graces(note)}"
        if note.attack is Attack.TAP:
            return TAP
        left = self._left.get(note.id)
        if techniques.shift_slide or (note.attack is Attack.SLIDE and left is not None):
            sign = "/" if left is None or note.fret >= left.fret else "\\"
            return sign * 2 if techniques.shift_slide else sign
        if note.attack in _LETTERS:
            return _LETTERS[note.attack]
        return f"-{_IN[techniques.slide_in]}" if techniques.slide_in else ""

    def _behind(self, note: Note) -> str:
        """Bend, trill, vibrato and a slide away."""
        techniques = note.techniques
        text = bend_text(techniques.bend, note.fret) if techniques.bend is not None else ""
        if techniques.trill is not None:
            value = techniques.trill.value
            text += f"tr{techniques.trill.fret}" + (f"={letters_of(value)}" if value != SIXTEENTH else "")
        if techniques.vibrato is not None:
            text += "~" * (self._waves.index(techniques.vibrato) + 1)
        return text + _OUT[techniques.slide_out]

    def _systems(self, blocks: Sequence[Sequence[str]]) -> list[list[int]]:
        """Bars grouped into systems: none ends inside a slur, each ends with a repeat played over twice."""
        systems: list[list[int]] = [[]]
        width = 0
        for index, bar in enumerate(self._score.bars):
            following = next((notes for at, notes in self._columns if at >= bar.start), ())
            may_break = not any(note.id in self._left and _is_joined(note) for note in following)
            is_full = width + len(blocks[index][0]) > _WIDEST_SYSTEM
            must_break = bool(systems[-1]) and bool(_times(self._score.bars[systems[-1][-1]]))
            if systems[-1] and ((is_full and may_break) or must_break):
                systems.append([])
                width = 0
            systems[-1].append(index)
            width += len(blocks[index][0])
        return systems


def _left_notes(columns: Sequence[Column]) -> dict[str, Place]:
    """Where the string of each note was stopped before, by the note's id."""
    latest: dict[int, Place] = {}
    left: dict[str, Place] = {}
    for _, notes in columns:
        for note in notes:
            if note.string in latest:
                left[note.id] = latest[note.string]
        latest.update({note.string: note.place for note in notes})
    return left


def _is_joined(note: Note) -> bool:
    return note.attack.is_slur or note.techniques.shift_slide


def _core(note: Note) -> str:
    """The number, with a cross and brackets where they belong."""
    techniques = note.techniques
    harmonic = techniques.harmonic
    text = "x" + (str(note.fret) if note.fret else "") if techniques.dead else str(note.fret)
    if harmonic is not None and harmonic.kind is HarmonicKind.NATURAL:
        text = f"<{harmonic.touched}>"
    elif harmonic is not None:
        text += f"<{harmonic.touched}{'p' if harmonic.kind is HarmonicKind.PINCH else ''}>"
    return f"({text})" if techniques.ghost else text


def _graces(note: Note) -> str:
    """The small notes before a note, each with how the next one is reached."""
    graces = note.techniques.graces
    text = ""
    for grace, follower in zip(graces, [*(each.place for each in graces[1:]), note.place], strict=True):
        rises = follower.fret > grace.place.fret
        slides = grace is graces[-1] and note.attack is Attack.SLIDE
        slur = ("/" if rises else "\\") if slides else ("h" if rises else "p")
        string = f"s{grace.place.string}" if grace.place.string != note.string else ""
        text += f"g{grace.place.fret}{string}{slur if grace.is_slurred_on else ','}"
    return text


def _labels(score: Score) -> list[str]:
    names = [str(pitch.name) for pitch in score.neck.tuning.open_pitches]
    if names[0] == names[-1] and len(names[0]) == 1:
        names[0] = names[0].lower()
    width = max(len(name) for name in names)
    return [name.ljust(width) for name in names]


def _times(bar: Bar) -> str:
    return f" x{bar.closes_repeat}" if bar.closes_repeat > _USUAL_TIMES else ""
