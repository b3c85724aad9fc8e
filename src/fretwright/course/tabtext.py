"""From a score back to text: what the reader reads, the writer writes.

``write_tab`` gives the rows that hold the notes, ``write_exercise`` a whole block. Reading what was written
gives the same notes, times, attacks, fingers and strokes. The rhythm row is one voice: what starts together
must be written with the same values, and a note ends where the next one starts or a rest stands.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.course.rhythm import letters_of
from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar, LabelKind, Score
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.tempo import Ladder
from fretwright.score.values import Value

_WIDEST_SYSTEM: Final = 88
_INDENT: Final = "  "
_SIGNS: Final = {Attack.HAMMER_ON: "h", Attack.PULL_OFF: "p"}
_USUAL_TIMES: Final = 2


@dataclass(frozen=True, slots=True)
class _Piece:
    """One written value of the row."""

    start: Fraction
    value: Value
    notes: tuple[Note, ...]
    """What starts here; empty for a rest and for a tied value."""
    is_rest: bool = False
    ties_on: bool = False

    @property
    def letters(self) -> str:
        return letters_of(self.value, is_rest=self.is_rest) + "+" * self.ties_on


def write_tab(score: Score) -> str:
    """The keys ``rhythm``, ``fingers``, ``strokes``, ``endings`` and ``tab`` of a score, as a block has them.

    Raises :class:`~fretwright.base.errors.ScoreError` for what the text cannot hold: notes of different
    lengths that sound together, values without a letter, and taps.
    """
    pieces = _pieces(score)
    columns = [piece for piece in pieces if piece.notes]
    rows = [f"rhythm: {_by_bars(score, pieces)}"]
    if any(note.finger is not None for note in score.notes):
        rows.append(f"fingers: {' '.join(_fingers(piece.notes) for piece in columns)}")
    if any(note.stroke is not None for note in score.notes):
        rows.append(f"strokes: {' '.join(_stroke(piece.notes) for piece in columns)}")
    if any(bar.endings for bar in score.bars):
        endings = (",".join(map(str, bar.endings)) or "." for bar in score.bars)
        rows.append(f"endings: {' '.join(endings)}")
    rows.append("tab: |")
    rows.extend(f"{_INDENT}{line}".rstrip() for line in _tab_lines(score, columns))
    return "\n".join(rows) + "\n"


def write_exercise(score: Score, ladder: Ladder) -> str:
    """A score as an exercise block that can stand in a lesson; raises as :func:`write_tab`."""
    tempos = f"{ladder.start_bpm:g} to {ladder.goal_bpm:g}"
    keys = [
        f"```exercise {score.name}",
        f"title: {_in_quotes(score.title)}",
        *([f"scale: {_in_quotes(score.scale.name)}"] if score.scale else []),
        f"key: {score.key.name}",
        *([f"position: {score.position}"] if score.position is not None else []),
        f"tuning: {score.neck.tuning.notes}",
        f"capo: {score.neck.capo}",
        f"tempo: {ladder.start_bpm:g}" if ladder.start_bpm == ladder.goal_bpm else f"tempo: {tempos}",
        f"meter: {score.bars[0].meter}",
        *([f"pickup: {_pickup(score)}"] if score.pickup else []),
        *([f"swing: {_swing(score.swing)}"] if score.swing != STRAIGHT else []),
        *_label_rows(score),
    ]
    return "\n".join(keys) + "\n" + write_tab(score) + "```\n"


def _in_quotes(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _swing(swing: Swing) -> str:
    unit = "eighths" if swing.unit == Fraction(1, 8) else "sixteenths"
    return f"{unit} {swing.share.numerator}:{swing.share.denominator - swing.share.numerator}"


def _pickup(score: Score) -> str:
    return " ".join(letters_of(value) for value in score.bars[0].meter.spell(Fraction(0), score.pickup))


def _label_rows(score: Score) -> list[str]:
    chords = {label.at: label.text for label in score.labels if label.kind is LabelKind.CHORD}
    words = {label.at: label.text for label in score.labels if label.kind is LabelKind.TEXT}
    rows = []
    if chords:
        rows.append(f"chords: {' | '.join(_chord_cell(bar, chords) for bar in score.bars)}")
    if words:
        rows.append(f"text: {_in_quotes(' | '.join(words.get(bar.start, '.') for bar in score.bars))}")
    return rows


def _chord_cell(bar: Bar, chords: dict[Fraction, str]) -> str:
    inside = [at for at in chords if bar.start <= at < bar.end]
    if not inside:
        return "."
    if inside == [bar.start]:
        return chords[bar.start]
    beats = int(bar.length / bar.meter.beat)
    return " ".join(chords.get(bar.start + bar.length * beat / beats, ".") for beat in range(beats))


def _pieces(score: Score) -> list[_Piece]:
    """All written values in order of time; raises where they do not follow each other without a gap."""
    together: dict[Fraction, list[Note]] = {}
    for note in score.notes:
        together.setdefault(note.onset, []).append(note)
    pieces = [_Piece(rest.onset, rest.value, (), is_rest=True) for rest in score.rests]
    for onset, notes in together.items():
        if any(note.values != notes[0].values for note in notes):
            message = f"notes of different lengths start together at {onset} in {score.name!r}"
            raise ScoreError(message, "One row of rhythm letters cannot hold them.")
        at = onset
        for nth, value in enumerate(notes[0].values, start=1):
            ties_on = nth < len(notes[0].values)
            pieces.append(_Piece(at, value, tuple(notes) if at == onset else (), ties_on=ties_on))
            at += value.duration
    pieces.sort(key=lambda piece: piece.start)
    ends = [Fraction(0), *(piece.start + piece.value.duration for piece in pieces)]
    if any(end != start for end, start in zip(ends, [*(p.start for p in pieces), score.length], strict=True)):
        message = f"the notes of {score.name!r} overlap or leave gaps"
        raise ScoreError(message, "One row of rhythm letters cannot hold them.")
    return pieces


def _by_bars(score: Score, pieces: Sequence[_Piece]) -> str:
    try:
        cells = [
            " ".join(piece.letters for piece in pieces if bar.start <= piece.start < bar.end)
            for bar in score.bars
        ]
    except KeyError as error:
        message = f"a value of {error} of a whole note has no rhythm letter"
        raise ScoreError(message) from error
    return " | ".join(cells)


def _fingers(notes: Sequence[Note]) -> str:
    marks = "".join("-" if note.finger is None else note.finger.mark for note in notes)
    return marks if marks.strip("-") else "."


def _stroke(notes: Sequence[Note]) -> str:
    stroke = next((note.stroke for note in notes if note.stroke is not None), None)
    return stroke.value[0] if stroke is not None else "."


def _tab_lines(score: Score, columns: Sequence[_Piece]) -> list[str]:
    """The lines of all systems, an empty one between each two."""
    frets = {note.id: note.fret for note in score.notes}
    blocks = [_bar_block(score, bar, _inside(bar, columns), frets) for bar in score.bars]
    lines: list[str] = []
    for system in _systems(score, columns, blocks):
        if lines:
            lines.append("")
        for string, label in enumerate(_labels(score)):
            end = _times(score.bars[system[-1]]) if string == 0 else ""
            lines.append(label + "".join(blocks[index][string] for index in system) + "|" + end)
    return lines


def _inside(bar: Bar, columns: Sequence[_Piece]) -> list[_Piece]:
    return [piece for piece in columns if bar.start <= piece.start < bar.end]


def _times(bar: Bar) -> str:
    return f" x{bar.closes_repeat}" if bar.closes_repeat > _USUAL_TIMES else ""


def _labels(score: Score) -> list[str]:
    names = [str(pitch.name) for pitch in score.neck.tuning.open_pitches]
    if names[0] == names[-1] and len(names[0]) == 1:
        names[0] = names[0].lower()
    width = max(len(name) for name in names)
    return [name.ljust(width) for name in names]


def _bar_block(score: Score, bar: Bar, columns: Sequence[_Piece], frets: dict[str, int]) -> list[str]:
    """One bar on every string, from its bar line up to the next one."""
    opening = "|:" if bar.opens_repeat else "|"
    closing = "-:" if bar.closes_repeat else "-"
    strings = list(score.neck.tuning.strings)
    lines = dict.fromkeys(strings, opening)
    for column in columns:
        by_string = {note.string: note for note in column.notes}
        width = max(len(str(note.fret)) for note in column.notes)
        for string in strings:
            note = by_string.get(string)
            text = "-" if note is None else _sign(note, frets) + str(note.fret)
            lines[string] += text.ljust(width + 1, "-")
    if not columns:
        lines = {string: f"{line}--" for string, line in lines.items()}
    return [lines[string] + closing for string in strings]


def _sign(note: Note, frets: dict[str, int]) -> str:
    if note.attack is Attack.PLUCK:
        return "-"
    if note.attack is Attack.SLIDE and note.slur_from is not None:
        return "/" if note.fret >= frets[note.slur_from] else "\\"
    if note.attack in _SIGNS:
        return _SIGNS[note.attack]
    message = f"a {note.attack.value} ({note.id}) has no sign in text tab"
    raise ScoreError(message)


def _systems(score: Score, columns: Sequence[_Piece], blocks: Sequence[Sequence[str]]) -> list[list[int]]:
    """Bars grouped into systems: none ends inside a slur, each ends with a repeat played over twice."""
    systems: list[list[int]] = [[]]
    width = 0
    for index, bar in enumerate(score.bars):
        following = next((column for column in columns if column.start >= bar.start), None)
        may_break = following is None or not any(note.attack.is_slur for note in following.notes)
        is_full = width + len(blocks[index][0]) > _WIDEST_SYSTEM
        must_break = bool(systems[-1]) and bool(_times(score.bars[systems[-1][-1]]))
        if systems[-1] and ((is_full and may_break) or must_break):
            systems.append([])
            width = 0
        systems[-1].append(index)
        width += len(blocks[index][0])
    return systems
