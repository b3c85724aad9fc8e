"""From a score that comes out of held chords back to its text: chords, voicings, and what the hand does.

The rows that are made here say the same as the score only where it is such a score; whoever writes them reads
them back before they are handed out (:mod:`fretwright.course.readback`).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Final, TypeVar

from fretwright.base.errors import ScoreError
from fretwright.course.pattern import MOST_PLACES, is_written
from fretwright.course.rhythm import letters_of
from fretwright.course.struck import bass_places, pluck_place
from fretwright.fretboard.neck import Place
from fretwright.fretboard.voicing import Voicing
from fretwright.score.meter import Meter
from fretwright.score.note import Note
from fretwright.score.score import Bar, LabelKind, Score, Writing
from fretwright.score.techniques import Stroke
from fretwright.score.values import Value

_Cell = TypeVar("_Cell")
_GOES_ON: Final = "."
_REST: Final = "r"
_WRITTEN: Final = {Writing.SLASHES: "slashes", Writing.NOTES: "in full"}


@dataclass(frozen=True, slots=True)
class _Entry:
    """One thing that the hand does."""

    at: Fraction
    """Written time from the start of the score."""
    text: str


def strummed_rows(score: Score) -> Iterator[list[str]]:
    """Ways to say what the picking hand does over the chords of a score, the plainest first.

    There are none where it does not come from held chords.
    """
    chords = _chord_rows(score)
    entries = _entries(score)
    if chords is None or entries is None:
        return
    key = "picking" if any(note.picking_finger for note in score.notes) else "strum"
    for pattern in (_on_grid(score, key, entries), _over_rhythm(score, key, entries)):
        if pattern is not None:
            yield [*chords, *pattern, f"written: {_WRITTEN[score.writing]}"]


def _chord_rows(score: Score) -> list[str] | None:
    """How the chords are held; None where there are none, or one is held in two ways."""
    held: dict[str, Voicing] = {}
    for label in score.labels:
        if label.kind is not LabelKind.CHORD or label.voicing is None:
            continue
        first = held.setdefault(label.text, label.voicing)
        if (first.frets, first.fingers) != (label.voicing.frets, label.voicing.fingers):
            return None
    if not held:
        return None
    voicings = {voicing.chord.symbol: voicing for voicing in held.values()}
    told = (f"{symbol} {each.text} ({each.fingers_text})" for symbol, each in voicings.items())
    return [f"voicings: {', '.join(told)}"]


# What is struck ------------------------------------------------------------------------------------------


def _entries(score: Score) -> list[_Entry] | None:
    """Everything that the hand does, in order of time; None for what no sign says."""
    names = [(label.at, label.voicing) for label in score.labels if label.kind is LabelKind.CHORD]
    entries: list[_Entry] = []
    for onset, group in groupby(score.notes, key=lambda note: note.onset):
        voicing = next((held for at, held in reversed(names) if at <= onset), None)
        text = _sign(list(group), voicing, score)
        if text is None:
            return None
        entries.append(_Entry(onset, text))
    taken = {entry.at for entry in entries}
    in_the_air = [air for air in score.air_strokes if air.at not in taken]
    entries += [_Entry(air.at, f"({air.stroke.value[0]})") for air in in_the_air]
    taken = {entry.at for entry in entries}
    until = None
    for rest in score.rests:
        if rest.onset != until and rest.onset not in taken:
            entries.append(_Entry(rest.onset, _REST))
        until = rest.end
    return sorted(entries, key=lambda entry: entry.at)


def _sign(notes: Sequence[Note], voicing: Voicing | None, score: Score) -> str | None:
    """The sign of what starts together."""
    if all(note.picking_finger is not None for note in notes):
        return _plucks(notes, voicing)
    strokes = {note.stroke for note in notes}
    asked = {(note.techniques.dead, note.techniques.ghost, note.techniques.accent) for note in notes}
    stroke = next(iter(strokes))
    if len(strokes) > 1 or len(asked) > 1 or stroke is None:
        return None
    dead, ghost, accent = asked.pop()
    if dead and ghost:
        return None
    strings = voicing.places if voicing is not None else _open_places(score)
    places = tuple(note.place for note in notes)
    if voicing is not None and len(places) == 1 and stroke is Stroke.DOWN and not dead and not ghost:
        for letter, bass in zip("bo", bass_places(voicing), strict=True):
            if places[0] == bass:
                return letter.upper() if accent else letter
    met = strings if stroke is Stroke.DOWN else strings[::-1]
    if set(places) != set(met[: len(places)]):
        return None
    way = stroke.value[0].upper() if accent else stroke.value[0]
    most = "" if len(places) == len(strings) else str(len(places))
    return f"{way}{'x' * dead}{'s' * ghost}{most}"


def _open_places(score: Score) -> tuple[Place, ...]:
    return tuple(Place(string, 0) for string in reversed(score.neck.tuning.strings))


def _plucks(notes: Sequence[Note], voicing: Voicing | None) -> str | None:
    if voicing is None:
        return None
    letters = []
    for note in notes:
        finger = note.picking_finger
        if finger is None:
            return None
        usual = pluck_place(finger, voicing) == note.place
        letter = finger.value.upper() if note.techniques.accent else finger.value
        letters.append(letter if usual else f"{letter}{note.string}")
    return "".join(letters)


# When it is struck ---------------------------------------------------------------------------------------


def _on_grid(score: Score, key: str, entries: Sequence[_Entry]) -> list[str] | None:
    """The pattern on even grids, each bar's as coarse as it may be."""
    cells = []
    for bar in score.bars:
        # A pickup has the end of its pattern's bar.
        missing = bar.meter.length - bar.length if bar.number == 0 else Fraction(0)
        inside = {
            entry.at - bar.start + missing: entry.text for entry in entries if bar.start <= entry.at < bar.end
        }
        count = _places(bar.meter, tuple(inside))
        if count is None:
            return None
        unit = bar.meter.length / count
        cells.append(" ".join(inside.get(unit * nth, _GOES_ON) for nth in range(count)))
    return [f"{key}: {_in_bars(_repeated(cells))}"]


def _places(meter: Meter, offsets: Sequence[Fraction]) -> int | None:
    """Into how many places a bar is divided so that everything falls on one; at least its beats."""
    for count in range(meter.beats, MOST_PLACES + 1):
        unit = meter.length / count
        if is_written(unit, meter) and all((at / unit).denominator == 1 for at in offsets):
            return count
    return None


def _over_rhythm(score: Score, key: str, entries: Sequence[_Entry]) -> list[str] | None:
    """The pattern over a row of rhythm letters, as the score is written."""
    at_time = {entry.at: entry.text for entry in entries if entry.text != _REST}
    rhythm, pattern = [], []
    try:
        for bar in score.bars:
            letters, signs = _bar_of_rhythm(score, bar, at_time)
            rhythm.append(letters)
            pattern.append(signs)
    except (KeyError, ScoreError):
        return None
    pairs = _repeated(list(zip(rhythm, pattern, strict=True)))
    return [
        f"rhythm: {_in_bars([letters for letters, _ in pairs])}",
        f"{key}: {_in_bars([signs for _, signs in pairs if signs])}",
    ]


def _bar_of_rhythm(score: Score, bar: Bar, at_time: dict[Fraction, str]) -> tuple[str, str]:
    """The values of a bar and its signs; raises ``KeyError`` for a value without a letter."""
    letters: list[str] = []
    signs: list[str] = []
    if bar.number == 0 and bar.length < bar.meter.length:
        before = bar.meter.spell(Fraction(0), bar.meter.length - bar.length)
        letters += [letters_of(value, is_rest=True) for value in before]
    for at, value, is_rest, ties_on in _written(score, bar):
        # A stroke in the air has a value of its own, through which the sound goes on.
        is_tied = ties_on and at + value.duration not in at_time
        letters.append(letters_of(value, is_rest=is_rest and at not in at_time) + "+" * is_tied)
        if at in at_time:
            signs.append(at_time[at])
    return " ".join(letters), " ".join(signs)


def _written(score: Score, bar: Bar) -> Iterator[tuple[Fraction, Value, bool, bool]]:
    """Each value of a bar with its time, whether it is a rest, and whether it is tied to the next."""
    found: dict[Fraction, tuple[Value, bool, bool]] = {
        rest.onset: (rest.value, True, False) for rest in score.rests
    }
    for note in score.notes:
        at = note.onset
        for nth, value in enumerate(note.values, start=1):
            found[at] = value, False, nth < len(note.values)
            at += value.duration
    for at in sorted(found):
        if bar.start <= at < bar.end:
            yield at, *found[at]


def _repeated(cells: Sequence[_Cell]) -> Sequence[_Cell]:
    """The shortest stretch of bars that comes again and again."""
    for length in range(1, len(cells)):
        if all(cell == cells[nth % length] for nth, cell in enumerate(cells)):
            return cells[:length]
    return cells


def _in_bars(cells: Sequence[str]) -> str:
    return " | ".join(cells)


# The chart itself ----------------------------------------------------------------------------------------


def chart_rows(score: Score, cell: Callable[[Bar], str], *, sections: bool) -> list[str]:
    """The chords in bars with repeats and endings; ``cell`` tells the names of a bar.

    With ``sections`` words over the staff stand in front of the line that they open.
    """
    lines: list[str] = []
    for line in _lines(score, sections=sections):
        section = _section(score, line[0]) if sections else ""
        text = " | ".join(_with_signs(bar, cell(bar)) for bar in line)
        text = text.replace("| |:", "|:").replace(":| |", ":|")
        lines.append(f"{section}: {text}" if section else text)
    if len(lines) == 1 and ":" not in lines[0]:
        return [f"chords: {lines[0]}"]
    return ["chords: |", *(f"  {line}" for line in lines)]


def _lines(score: Score, *, sections: bool) -> Iterator[list[Bar]]:
    """The bars in lines: each section starts one."""
    line: list[Bar] = []
    for bar in score.bars:
        if sections and line and _section(score, bar):
            yield line
            line = []
        line.append(bar)
    yield line


def _section(score: Score, bar: Bar) -> str:
    """What stands over the start of a bar, where a chart has it in front of its line."""
    words = [label.text for label in score.labels if label.kind is LabelKind.TEXT and label.at == bar.start]
    return words[0] if len(words) == 1 else ""


def _with_signs(bar: Bar, names: str) -> str:
    endings = f"{','.join(map(str, bar.endings))}. " if bar.endings else ""
    opens = "|: " if bar.opens_repeat else ""
    times = f" x{bar.closes_repeat}" if bar.closes_repeat > 2 else ""
    closes = f" :|{times}" if bar.closes_repeat else ""
    return f"{opens}{endings}{names}{closes}"


def chart_lyrics(score: Score, *, sections: bool) -> list[str]:
    """What is sung in a chart, a line for each verse under each line of chords."""
    sung = [label for label in score.labels if label.kind is LabelKind.LYRIC]
    if not sung:
        return []
    rows = []
    for line in _lines(score, sections=sections):
        start, end = line[0].start, line[-1].end
        verses = {label.verse for label in sung if start <= label.at < end} | {1}
        for verse in sorted(verses):
            words = {label.at: label.text for label in sung if label.verse == verse}
            cells = " | ".join(_sung_cell(bar, words) for bar in line)
            rows.append(f"  {verse}. {cells}" if verse > 1 else f"  {cells}")
    return ["lyrics: |", *rows]


def _sung_cell(bar: Bar, words: dict[Fraction, str]) -> str:
    """The words of a bar on the coarsest grid that holds them all, dots where none starts."""
    inside = {at - bar.start: text for at, text in words.items() if bar.start <= at < bar.end}
    beats = max(1, int(bar.length / bar.meter.beat))
    coarser = 0
    for part in (1, 3, 6) if bar.meter.is_compound else (1, 2, 4):
        unit = bar.meter.beat / part
        if all((at / unit).denominator == 1 for at in inside):
            count = max([int(at / unit) + 1 for at in inside] + ([coarser + 1] if coarser else [1]))
            return " ".join(inside.get(unit * nth, _GOES_ON) for nth in range(count))
        coarser = beats * part
    return _GOES_ON
