"""From a score back to text: what the reader reads, the writer writes.

``write_tab`` gives the rows that hold the notes, ``write_exercise`` a whole block. Reading what was written
gives the same notes, times, attacks, techniques, fingers and strokes in the same voices. A rhythm row is one
voice: what starts together in it must be written with the same values, and a note ends where the next one
starts or a rest stands.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.course.readback import says_the_same
from fretwright.course.rhythm import letters_of
from fretwright.course.strumtext import chart_lyrics, chart_rows, strummed_rows
from fretwright.course.tabheads import VIBRATO_KEYS
from fretwright.course.tablines import tab_lines
from fretwright.course.techniquerows import FLAG_KEYS, LOWER, PICKING_HAND
from fretwright.score.instruments import Instrument
from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar, LabelKind, Score
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.techniques import Vibrato
from fretwright.score.tempo import Ladder
from fretwright.score.values import Value

_INDENT: Final = "  "
_NO_VOICE: Final = "."


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
    """The rows and tabs of a score, as a block has them: ``rhythm``, ``fingers``, ``palm mute``, ``tab`` ...

    Raises :class:`~fretwright.base.errors.ScoreError` for what the text cannot hold: notes of different
    lengths that sound together in one voice, values without a letter, more than two kinds of vibrato, and a
    column of a voice that is strummed both ways at once.
    """
    waves = _waves(score)
    rows = _voice(score, 1, waves)
    if any(bar.endings for bar in score.bars):
        endings = (",".join(map(str, bar.endings)) or "." for bar in score.bars)
        rows.insert(-1, f"endings: {' '.join(endings)}")
    if _has_voice(score, 2):
        rows += _voice(score, 2, waves)
    for (name, usual), vibrato in zip(VIBRATO_KEYS.items(), waves, strict=True):
        if vibrato not in (None, usual):
            rows.insert(0, f"{name}: {vibrato.rate_hz!r} Hz, {vibrato.width_cents!r} cents")
    return "\n".join(rows) + "\n"


def _has_voice(score: Score, voice: int) -> bool:
    return any(note.voice == voice for note in score.notes) or any(
        rest.voice == voice for rest in score.rests
    )


def _waves(score: Score) -> tuple[Vibrato | None, Vibrato | None]:
    """The vibrato that one wave stands for, and the one of two waves."""
    kinds = {note.techniques.vibrato for note in score.notes} - {None}
    found = sorted((kind for kind in kinds if kind), key=lambda kind: (kind.width_cents, kind.rate_hz))
    if len(found) > len(VIBRATO_KEYS):
        message = f"{score.name!r} has {len(found)} kinds of vibrato"
        raise ScoreError(message, "Text tab has two: the usual one and a wide one.")
    if len(found) == 1:
        return (None, found[0]) if found[0].is_wide else (found[0], None)
    return (found[0], found[1]) if found else (None, None)


def _voice(score: Score, voice: int, waves: tuple[Vibrato | None, Vibrato | None]) -> list[str]:
    """All rows of one voice, its tab as the last one."""
    pieces = _pieces(score, voice)
    columns = [piece for piece in pieces if piece.notes]
    notes = [note for piece in columns for note in piece.notes]
    rows = [f"rhythm: {_by_bars(score, pieces)}"]
    if any(note.finger is not None for note in notes):
        rows.append(f"fingers: {' '.join(_fingers(piece.notes) for piece in columns)}")
    small = [grace.finger for note in notes for grace in note.techniques.graces]
    if any(finger is not None for finger in small):
        rows.append(f"grace fingers: {' '.join('.' if each is None else each.mark for each in small)}")
    if any(note.stroke is not None for note in notes):
        rows.append(f"strokes: {' '.join(_stroke(piece.notes) for piece in columns)}")
    for name, sign in _SIGNS.items():
        signs = [_signs(piece.notes, sign) for piece in columns]
        if any(text != "." for text in signs):
            rows.append(f"{name}: {' '.join(signs)}")
    lines = tab_lines(score, [(piece.start, piece.notes) for piece in columns], waves)
    rows.append("\n".join(["tab: |", *(f"{_INDENT}{line}".rstrip() for line in lines)]))
    return [LOWER * (voice == 2) + row for row in rows]


def _flag(field: str) -> Callable[[Note], str]:
    return lambda note: "x" if getattr(note.techniques, field) else "."


def _tremolo(note: Note) -> str:
    value = note.techniques.tremolo
    return letters_of(value) if value is not None else "."


_SIGNS: Final[dict[str, Callable[[Note], str]]] = {
    **{name: _flag(field) for name, field in FLAG_KEYS.items()},
    "tremolo": _tremolo,
    "rake": lambda note: note.techniques.rake.value[0] if note.techniques.rake else ".",
    "roll": lambda note: note.techniques.roll.value[0] if note.techniques.roll else ".",
    PICKING_HAND: lambda note: note.picking_finger.value if note.picking_finger else ".",
}
"""Rows of signs, and the sign of a note in each."""


def _signs(notes: Sequence[Note], sign: Callable[[Note], str]) -> str:
    """One sign for a column where all its notes have it, else one for each of them."""
    signs = [sign(note) for note in notes]
    return signs[0] if len(set(signs)) == 1 else "".join("-" if sign == "." else sign for sign in signs)


def write_exercise(score: Score, ladder: Ladder, *, is_chart: bool = False) -> str:
    """A score as a block that can stand in a lesson; raises as :func:`write_tab`.

    What comes out of held chords is written as chords and strokes, or as a chart; everything else, and what
    no pattern can say exactly, as a tab.
    """
    head = _head(score, ladder)
    for rows in _by_chords(score, is_chart=is_chart):
        kind = "chart" if is_chart else "exercise"
        text = "\n".join([f"```{kind} {score.name}", *head, *rows, "```\n"])
        if says_the_same(text, score):
            return text
    position = [f"position: {score.position}"] if score.position is not None else []
    keys = [f"```exercise {score.name}", *head, *position, *_label_rows(score)]
    return "\n".join(keys) + "\n" + write_tab(score) + "```\n"


def _by_chords(score: Score, *, is_chart: bool) -> Iterator[list[str]]:
    """Ways to write a score that comes out of held chords; none where there are no chords."""
    chords = {label.at: label.text for label in score.labels if label.kind is LabelKind.CHORD}
    columns = [list(group) for _, group in groupby(score.notes, key=lambda note: note.onset)]
    asked = []
    for name, sign in _SIGNS.items():
        signs = [_signs(notes, sign) for notes in columns]
        if name not in {"accent", PICKING_HAND} and any(text != "." for text in signs):
            asked.append(f"{name}: {' '.join(signs)}")
    rings_by_itself = [row for row in asked if not row.startswith("let ring")]
    for pattern in strummed_rows(score):
        for rows in (rings_by_itself, asked) if asked != rings_by_itself else (asked,):
            for sections in (True, False) if is_chart else (False,):
                chart = chart_rows(score, lambda bar: _chord_cell(bar, chords), sections=sections)
                text = [] if sections else _text_row(score)
                yield [*chart, *text, *pattern, *rows, *chart_lyrics(score, sections=sections)]


def _head(score: Score, ladder: Ladder) -> list[str]:
    """What a block says before its music."""
    tempos = f"{ladder.start_bpm:g} to {ladder.goal_bpm:g}"
    sound = score.instrument
    return [
        f"title: {_in_quotes(score.title)}",
        *([f"scale: {_in_quotes(score.scale.name)}"] if score.scale else []),
        f"key: {score.key.name}",
        f"tuning: {score.neck.tuning.notes}",
        f"capo: {score.neck.capo}",
        f"tempo: {ladder.start_bpm:g}" if ladder.start_bpm == ladder.goal_bpm else f"tempo: {tempos}",
        f"meter: {score.bars[0].meter}",
        *([f"pickup: {_pickup(score)}"] if score.pickup else []),
        *([f"swing: {_swing(score.swing)}"] if score.swing != STRAIGHT else []),
        *([f"instrument: {sound.value}"] if sound is not Instrument.ACOUSTIC_STEEL else []),
    ]


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
    rows = []
    if chords:
        rows.append(f"chords: {' | '.join(_chord_cell(bar, chords) for bar in score.bars)}")
    return [*rows, *_text_row(score), *_lyric_rows(score)]


def _text_row(score: Score) -> list[str]:
    words = {label.at: label.text for label in score.labels if label.kind is LabelKind.TEXT}
    cells = (words.get(bar.start, ".") for bar in score.bars)
    return [f"text: {_in_quotes(' | '.join(cells))}"] if words else []


def _lyric_rows(score: Score) -> list[str]:
    """What is sung: a line for each verse, a word or a dot for each note of the upper voice."""
    sung = {(label.verse, label.at): label.text for label in score.labels if label.kind is LabelKind.LYRIC}
    onsets = sorted({note.onset for note in score.notes if note.voice == 1})
    lines = []
    for verse in sorted({verse for verse, _ in sung}):
        words = [(at, sung.get((verse, at), ".")) for at in onsets]
        cells = [
            " ".join(word for at, word in words if bar.start <= at < bar.end) or "." for bar in score.bars
        ]
        lines.append(f"{_INDENT}{verse}. {' | '.join(cells)}")
    return ["lyrics: |", *lines] if lines else []


def _chord_cell(bar: Bar, chords: dict[Fraction, str]) -> str:
    inside = [at for at in chords if bar.start <= at < bar.end]
    if not inside:
        return "."
    if inside == [bar.start]:
        return chords[bar.start]
    beats = int(bar.length / bar.meter.beat)
    return " ".join(chords.get(bar.start + bar.length * beat / beats, ".") for beat in range(beats))


def _pieces(score: Score, voice: int) -> list[_Piece]:
    """All written values of a voice in order of time; raises where they leave gaps or overlap in a bar."""
    together: dict[Fraction, list[Note]] = {}
    for note in score.notes:
        if note.voice == voice:
            together.setdefault(note.onset, []).append(note)
    pieces = [_Piece(rest.onset, rest.value, (), is_rest=True) for rest in score.rests if rest.voice == voice]
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
    for bar in score.bars:
        inside = [piece for piece in pieces if bar.start <= piece.start < bar.end]
        ends = [bar.start, *(piece.start + piece.value.duration for piece in inside)]
        starts = [*(piece.start for piece in inside), bar.end]
        if ends != starts and (inside or voice == 1):
            message = f"the notes of {score.name!r} overlap or leave gaps"
            raise ScoreError(message, "One row of rhythm letters cannot hold them.")
    return pieces


def _by_bars(score: Score, pieces: Sequence[_Piece]) -> str:
    try:
        cells = [
            " ".join(piece.letters for piece in pieces if bar.start <= piece.start < bar.end) or _NO_VOICE
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
    strokes = {note.stroke for note in notes if note.attack is Attack.PLUCK}
    if len(strokes) > 1:
        message = f"the notes that start together with {notes[0].id} have different strokes"
        raise ScoreError(message, "One stroke moves all strings of a voice.")
    stroke = next(iter(strokes), None)
    return stroke.value[0] if stroke is not None else "."
