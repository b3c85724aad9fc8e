"""One exercise: its keys understood and its score put together."""

from collections.abc import Sequence
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.course.entries import Entries
from fretwright.course.inherit import Wanted
from fretwright.course.keys import RULE_KEYS, TAB_KEYS
from fretwright.course.model import Exercise
from fretwright.course.move import moved
from fretwright.course.notebook import Notebook
from fretwright.course.rhythm import MOST_SIGNS, Beat, Row, Sign
from fretwright.course.rows import read_fingers, read_labels, read_strokes, with_endings, with_repeat
from fretwright.course.rule import has_printed_fingers, is_along_string, notes_of, read_shape
from fretwright.course.rulebars import attacks_of, bars_of_rule
from fretwright.course.settings import Settings, read_settings, require_keys
from fretwright.course.tabgrid import read_grid
from fretwright.course.tabnotes import Column, bars_of_tab, in_equal_values
from fretwright.course.values import read_count
from fretwright.course.way import Way, read_way
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.shapes import Shape
from fretwright.score.assemble import BarOfEvents, Head, Heading, assemble
from fretwright.score.note import Finger
from fretwright.score.score import Score
from fretwright.score.tempo import Ladder, TempoMap
from fretwright.score.unfold import unfold
from fretwright.score.values import Value

_Bars = tuple[BarOfEvents, ...]

_MEND_WITHOUT_TAB: Final = {
    "endings": 'Delete "endings", or write the tab out.',
    "move": 'Write another "position" or "scale" in its place.',
}


def build_exercise(wanted: Wanted, course_neck: Neck) -> Exercise | None:
    """Build an exercise from its keys, or None with findings."""
    block, entries, notebook = wanted.block, wanted.entries, wanted.block.notebook
    _refuse_clashes(entries, notebook)
    settings = read_settings(entries, course_neck, notebook)
    require_keys(entries, block.span, notebook)
    times = read_count(entries.get("repeat"), range(2, 33), notebook)
    shape, bars = _shape_and_bars(entries, settings, notebook)
    if bars and not notebook.is_broken:
        bars = _with_repeat(bars, times, entries, notebook)
    if not bars or settings.ladder is None or notebook.is_broken:
        return None
    title = f"{_text(entries, 'title') or _title_of(block.id)} {wanted.words}".rstrip()
    score = _score(wanted, title, settings, settings.ladder, shape, bars)
    if score is None or notebook.is_broken:
        return None
    return Exercise(
        id=wanted.id,
        lesson=block.lesson,
        title=title,
        score=score,
        ladder=settings.ladder,
        shape=None if is_along_string(entries) else shape,
        source=wanted.source,
        is_tab="tab" in entries,
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
            mend = f'Delete "{name}" or "{other}".' if other else _MEND_WITHOUT_TAB[name]
            notebook.error("keys-clash", entries[name].key, message.format(name), mend)
    if {"notes", "rhythm"} <= entries.keys():
        message = '"notes" and "rhythm" both say how long the notes are.'
        notebook.error("keys-clash", entries["notes"].key, message, "Keep one of the two.")


def _shape_and_bars(
    entries: Entries, settings: Settings, notebook: Notebook
) -> tuple[Shape | None, _Bars | None]:
    if "tab" in entries:
        return None, _bars_by_tab(entries, settings, notebook)
    way = read_way(entries, settings.scale, settings.meter, notebook)
    if settings.scale is None:
        return None, None
    shape = read_shape(entries, settings.scale, settings.neck, settings.position, notebook)
    return shape, _bars_by_rule(entries, settings, shape, way, notebook) if shape is not None else None


def _bars_by_tab(entries: Entries, settings: Settings, notebook: Notebook) -> _Bars | None:
    tab = entries["tab"]
    if tab.is_list or tab.texts[0].style != "|":
        message = "The lines of a tab are kept apart only under a bar line sign."
        mend = 'Write "tab: |", and the lines of the tab below it, two spaces to the right.'
        if not tab.is_empty:
            notebook.error("not-a-tab-block", tab.key, message, mend)
        return None
    grid = read_grid(tab.lines(), settings.neck, notebook)
    if grid is None or settings.rhythm is None:
        return None
    columns = [column for bar in grid for column in bar.columns]
    if not columns:
        notebook.error("nothing-to-play", tab.span, "The tab has no numbers.", "Write what is to be played.")
        return None
    places = [tuple(fretted.place for fretted in column) for column in columns]
    fingers = read_fingers(entries.get("fingers"), places, notebook)
    strokes = read_strokes(entries.get("strokes"), len(columns), notebook)
    spelling = settings.scale or settings.key

    def heads_of(index: int, column: Column) -> tuple[Head, ...]:
        return tuple(
            Head(
                place=fretted.place,
                pitch=settings.neck.pitch_at(fretted.place, spelling),
                attack=fretted.attack,
                finger=finger,
                stroke=None if fretted.attack.is_slur else strokes[index],
                source=fretted.span,
            )
            for fretted, finger in zip(column, fingers[index], strict=True)
        )

    rhythm = settings.rhythm
    row = in_equal_values(grid, rhythm) if isinstance(rhythm, Value) else rhythm
    bars = bars_of_tab(grid, row, settings.meter, settings.pickup, heads_of, notebook)
    return None if bars is None else with_endings(entries.get("endings"), bars, notebook)


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
        return bars_of_rule(heads, way.late, rhythm, settings.meter, settings.pickup, source)
    except FretwrightError as error:
        where = entries.get("rhythm") or entries["notes"]
        notebook.refused("bar-does-not-add-up", where.span, error)
        return None


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
) -> Score | None:
    entries, notebook = wanted.entries, wanted.block.notebook
    labels = read_labels(entries.get("chords"), entries.get("text"), bars, notebook)
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
        position=shape.position if shape else settings.position,
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
