"""One exercise: its keys understood and its score put together."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.course.answer import with_answer
from fretwright.course.chords import is_of_chords, refuse_chord_clashes, strummed
from fretwright.course.entries import Entries
from fretwright.course.inherit import Wanted
from fretwright.course.keys import CHORD_KEYS, LOWER_NOTES, LOWER_ROWS, RULE_KEYS, TAB_KEYS
from fretwright.course.lyrics import read_tune_lyrics
from fretwright.course.model import Exercise
from fretwright.course.move import moved
from fretwright.course.notebook import Notebook
from fretwright.course.rhythm import MOST_SIGNS, Beat, Row, Sign
from fretwright.course.rows import read_fingers, read_labels, read_strokes, with_repeat
from fretwright.course.rule import has_printed_fingers, is_along_string, notes_of, read_shape
from fretwright.course.rulebars import attacks_of, bars_of_rule
from fretwright.course.settings import Settings, read_settings, require_keys
from fretwright.course.struck import Strummed
from fretwright.course.tabbars import bars_by_tab
from fretwright.course.techniquerows import with_techniques
from fretwright.course.values import read_band, read_count, read_instrument
from fretwright.course.way import Way, read_way
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.shapes import Shape
from fretwright.score.assemble import BarOfEvents, Head, Heading, assemble
from fretwright.score.instruments import Instrument
from fretwright.score.note import Finger
from fretwright.score.score import Score, Writing
from fretwright.score.tempo import Ladder, TempoMap
from fretwright.score.unfold import unfold
from fretwright.score.values import Value

_Bars = tuple[BarOfEvents, ...]

_EITHER: Final = (
    ("notes", "rhythm", "how long the notes are"),
    ("lower notes", "lower rhythm", "how long the notes of the lower voice are"),
    ("lower tab", "lower strings", "what the lower voice has"),
)
_MEND_WITHOUT_TAB: Final = {
    "endings": 'Delete "endings", or write the tab out.',
    "move": 'Write another "position" or "scale" in its place.',
}


def build_exercise(wanted: Wanted, course_neck: Neck, usual: Instrument) -> Exercise | None:
    """Build an exercise from its keys, or None with findings; ``usual`` is what the course is played on."""
    block, entries, notebook = wanted.block, wanted.entries, wanted.block.notebook
    by_chords = block.is_chart or is_of_chords(entries)
    (refuse_chord_clashes if by_chords else _refuse_clashes)(entries, notebook)
    settings = read_settings(entries, course_neck, notebook)
    require_keys(entries, block.span, notebook, by_chords=by_chords)
    times = read_count(entries.get("repeat"), range(2, 33), notebook)
    band = read_band(entries.get("band"), notebook)
    instrument = read_instrument(entries.get("instrument"), notebook) or usual
    struck = strummed(entries, settings, block.span, notebook) if by_chords else None
    shape, bars = _shape_and_bars(entries, settings, notebook) if not by_chords else (None, None)
    if bars and struck is None:
        bars = with_answer(entries, bars, notebook)
    bars = bars if struck is None else struck.bars
    if bars and not notebook.is_broken:
        bars = _with_repeat(bars, times, entries, notebook)
    if not bars or settings.ladder is None or notebook.is_broken:
        return None
    title = f"{_text(entries, 'title') or _title_of(block.id)} {wanted.words}".rstrip()
    score = _score(wanted, title, settings, settings.ladder, shape, bars, struck)
    if score is None or notebook.is_broken:
        return None
    return Exercise(
        id=wanted.id,
        lesson=block.lesson,
        title=title,
        score=replace(score, instrument=instrument),
        ladder=settings.ladder,
        shape=None if is_along_string(entries) else shape,
        source=wanted.source,
        is_tab="tab" in entries,
        is_chart=block.is_chart,
        band=band,
        remark=entries["remark"].text.strip() if "remark" in entries else "",
        span=block.span,
        fields={name: entry.span for name, entry in entries.items()},
    )


def _text(entries: Entries, name: str) -> str:
    return " ".join(entries[name].text.split()) if name in entries else ""


def _title_of(exercise_id: str) -> str:
    words = exercise_id.replace("-", " ")
    return words[:1].upper() + words[1:]


def _refuse_clashes(entries: Entries, notebook: Notebook) -> None:
    """Keys of a rule make no sense beside a tab, and the other way round."""
    if "tab" in entries:
        clashing, other = RULE_KEYS, "tab"
        message = '"{}" makes notes from a scale, and this exercise has its notes from a tab.'
    else:
        clashing, other = TAB_KEYS, ""
        message = '"{}" goes with a tab, and this exercise has none.'
    for name in clashing:
        if name in entries:
            usual = f'Delete "{name}".'
            mend = f'Delete "{name}" or "{other}".' if other else _MEND_WITHOUT_TAB.get(name, usual)
            notebook.error("keys-clash", entries[name].key, message.format(name), mend)
    for name in CHORD_KEYS:
        if name in entries:
            message = f'"{name}" goes with chords that are strummed or picked.'
            notebook.error(
                "keys-clash", entries[name].key, message, 'Add "strum" or "picking", or delete it.'
            )
    for one, other, what in _EITHER:
        if {one, other} <= entries.keys():
            message = f'"{one}" and "{other}" both say {what}.'
            notebook.error("keys-clash", entries[one].key, message, "Keep one of the two.")
    for name in entries.keys() & {*LOWER_NOTES, *LOWER_ROWS}:
        if "tab" in entries and not {"lower tab", "lower strings"} & entries.keys():
            message = f'"{name}" speaks of a lower voice, and there is none.'
            mend = 'Add "lower tab: |", or "lower strings: 6 to 4" for a voice that is in the tab already.'
            notebook.error("keys-clash", entries[name].key, message, mend)


def _shape_and_bars(
    entries: Entries, settings: Settings, notebook: Notebook
) -> tuple[Shape | None, _Bars | None]:
    if "tab" in entries:
        return None, bars_by_tab(entries, settings, notebook)
    way = read_way(entries, settings.scale, settings.meter, notebook)
    if settings.scale is None:
        return None, None
    shape = read_shape(entries, settings.scale, settings.neck, settings.position, notebook)
    return shape, _bars_by_rule(entries, settings, shape, way, notebook) if shape is not None else None


def _bars_by_rule(
    entries: Entries, settings: Settings, shape: Shape, way: Way, notebook: Notebook
) -> _Bars | None:
    notes = notes_of(entries, shape, way, notebook)
    if notes is None or settings.rhythm is None:
        return None
    attacks = attacks_of(way, notes, entries.get("slur"), notebook)
    written = read_fingers(entries.get("fingers"), [(note.place,) for note in notes], notebook)
    strokes = read_strokes(entries.get("strokes"), len(notes), notebook)
    printed = has_printed_fingers(entries, shape) and "fingers" not in entries
    source = (entries.get("path") or entries["scale"]).span
    heads = [
        Head(
            place=note.place,
            pitch=note.pitch,
            attack=attack,
            finger=Finger(note.finger) if printed else fingers[0],
            stroke=None if attack.is_slur else stroke,
            source=source,
        )
        for note, attack, fingers, stroke in zip(notes, attacks, written, strokes, strict=True)
    ]
    rhythm = settings.rhythm
    if isinstance(rhythm, Value):
        rhythm = Row((Beat((Sign(rhythm, is_rest=False, span=source),)),), 0)
    if not rhythm.notes:
        notebook.error(
            "nothing-to-play", entries["rhythm"].span, "The rhythm has rests only.", "Add a note value."
        )
        return None
    if len(rhythm.beats) * len(heads) > MOST_SIGNS * len(rhythm.notes):
        message = f"In this rhythm the exercise has more than {MOST_SIGNS} notes and rests."
        notebook.error(
            "exercise-too-long", entries["rhythm"].span, message, "Shorten the path or the rhythm."
        )
        return None
    try:
        bars = bars_of_rule(heads, way.late, rhythm, settings.meter, settings.pickup, source)
    except FretwrightError as error:
        where = entries.get("rhythm") or entries["notes"]
        notebook.refused("bar-does-not-add-up", where.span, error)
        return None
    return with_techniques(entries, bars, notebook)


def _with_repeat(bars: _Bars, times: int | None, entries: Entries, notebook: Notebook) -> _Bars:
    if times and any(bar.opens_repeat or bar.closes_repeat for bar in bars):
        message = '"repeat" stands beside repeat signs in the tab.'
        notebook.error("keys-clash", entries["repeat"].key, message, "Keep the signs, or the key.")
        return bars
    return with_repeat(bars, times)


def _score(
    wanted: Wanted,
    title: str,
    settings: Settings,
    ladder: Ladder,
    shape: Shape | None,
    bars: Sequence[BarOfEvents],
    struck: Strummed | None,
) -> Score | None:
    entries, notebook = wanted.entries, wanted.block.notebook
    chords = entries.get("chords") if struck is None else None
    labels = read_labels(chords, entries.get("text"), bars, notebook)
    if struck is None:
        sung = read_tune_lyrics(entries.get("lyrics"), bars, notebook)
        labels = tuple(sorted((*labels, *sung), key=lambda label: label.at))
    else:
        labels = tuple(sorted((*labels, *struck.labels), key=lambda label: label.at))
    if notebook.is_broken:
        return None
    heading = Heading(
        name=wanted.id,
        title=title,
        neck=settings.neck,
        key=settings.key,
        tempo=TempoMap.constant(ladder.start_bpm, settings.meter.beat),
        swing=settings.swing,
        labels=labels,
        scale=settings.scale,
        position=shape.position if shape else None if struck else settings.position,
        air_strokes=struck.air_strokes if struck else (),
        writing=struck.writing if struck else Writing.NOTES,
    )
    try:
        score = assemble(heading, bars)
        played = {played.bar.number for played in unfold(score.bars)}
    except FretwrightError as error:
        notebook.refused("score-contradicts-itself", wanted.block.span, error)
        return None
    for bar in score.bars:
        if bar.number not in played:
            where = entries["endings"].span if "endings" in entries else wanted.block.span
            mend = "Let the repeat go round often enough for every ending."
            notebook.error("bar-never-played", where, f"Bar {bar.number} is never played.", mend)
    return moved(score, entries, notebook)
