"""What is written is read back: the same notes, times, attacks, fingers and strokes."""

import tempfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from fretwright.base.errors import ScoreError
from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook
from fretwright.course.reader import read_course
from fretwright.course.rhythm import LETTERS, letters_of, value_of_words
from fretwright.course.tabtext import write_exercise, write_tab
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Finger
from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.swing import Swing
from fretwright.score.techniques import Bend, BendPoint, Stroke, Techniques, Vibrato
from fretwright.score.tempo import Ladder, TempoMap
from fretwright.score.values import TRIPLET, Value
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale
from strategies import technique_scores

LADDER = Ladder(60, 100)


def read_back(score: Score, ladder: Ladder = LADDER) -> Score:
    text = "---\ntitle: A\ngoal: B\n---\n" + write_exercise(score, ladder)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "lessons").mkdir()
        (folder / "course.yaml").write_text(
            f"title: A\nteacher: B\nfrets: {score.neck.frets}\n", encoding="utf-8"
        )
        (folder / "lessons" / "01-a.md").write_text(text, encoding="utf-8")
        reading = read_course(folder)
    assert reading.findings == ()
    (exercise,) = reading.course.exercises
    assert exercise.ladder == ladder
    return exercise.score


def without_sources(score: Score) -> Score:
    notes = tuple(replace(note, source=None) for note in score.notes)
    rests = tuple(replace(rest, source=None) for rest in score.rests)
    return replace(score, notes=notes, rests=rests)


VALUES = st.sampled_from([Value(Fraction(1, 2**n), dots) for n in range(5) for dots in (0, 1)])


@st.composite
def scores(draw: st.DrawFn) -> Score:
    """Lines and chords on any tuning, with rests, slurs, triplets, ties, fingers and strokes."""
    neck = Neck(tuning=draw(st.sampled_from([*TUNINGS.values()])), capo=draw(st.integers(0, 3)))
    spelling = draw(st.sampled_from([Scale.parse("A minor pentatonic"), Scale.parse("Eb major"), None]))
    key = Key.of_scale(spelling) if spelling else draw(st.sampled_from([Key(0), Key(-3, minor=True)]))
    meter = draw(st.sampled_from([Meter(4, 4), Meter(3, 4), Meter(6, 8)]))
    events: list[Event] = []
    before: dict[int, int] = {}
    for _ in range(draw(st.integers(1, 14))):
        kind = draw(st.sampled_from(["note", "note", "slur", "chord", "rest", "triplet"]))
        value = draw(VALUES)
        count = 3 if kind == "triplet" else 1
        for _ in range(count):
            if kind == "triplet":
                value = Value(Fraction(1, 8), 0, TRIPLET)
            strings = [] if kind == "rest" else draw(_strings(neck, before, kind))
            heads = [
                draw(_head(neck, string, spelling or key, before if kind == "slur" else {}))
                for string in strings
            ]
            events.append(Event(value, tuple(sorted(heads, key=lambda head: -head.place.string))))
            before = {head.place.string: head.place.fret for head in heads}
    if not any(event.heads for event in events):
        events.append(Event(Value(Fraction(1, 4)), (draw(_head(neck, 1, spelling or key, {})),)))
    title = draw(st.sampled_from(["Up", 'He said: "up" #1', "no"]))
    swing = draw(st.sampled_from([Swing(), Swing(Fraction(2, 3)), Swing(Fraction(3, 5), Fraction(1, 16))]))
    tempo = TempoMap.constant(60, meter.beat)
    heading = Heading("a", title, neck, key, tempo, swing=swing, scale=spelling)
    pickup = draw(st.sampled_from([Fraction(0), Fraction(1, 8)]))
    try:
        return assemble(heading, into_bars(events, meter, pickup))
    except ScoreError:  # a triplet over a bar line
        reject()


def _strings(neck: Neck, before: dict[int, int], kind: str) -> st.SearchStrategy[list[int]]:
    strings = list(before) if kind == "slur" and before else list(neck.tuning.strings)
    most = min(4 if kind == "chord" else 1, len(strings))
    return st.lists(st.sampled_from(strings), min_size=1, max_size=most, unique=True)


@st.composite
def _head(draw: st.DrawFn, neck: Neck, string: int, spelling: Scale | Key, before: dict[int, int]) -> Head:
    place = Place(string, draw(st.integers(0, neck.last_fret)))
    attack = Attack.PLUCK
    if string in before and place.fret != before[string]:
        way = Attack.HAMMER_ON if place.fret > before[string] else Attack.PULL_OFF
        attack = draw(st.sampled_from([way, Attack.SLIDE]))
    finger = draw(st.sampled_from([None, *([Finger.OPEN] if place.fret == 0 else list(Finger)[1:])]))
    stroke = None if attack.is_slur else draw(st.sampled_from([None, Stroke.DOWN]))
    return Head(place, neck.pitch_at(place, spelling), attack, finger, stroke)


@given(scores())
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_round_trip(score: Score) -> None:
    # One stroke moves all strings of a chord: the row has one for each column.
    by_onset = {note.onset: note.stroke for note in score.notes if not note.attack.is_slur}
    notes = tuple(
        note if note.attack.is_slur else replace(note, stroke=by_onset[note.onset]) for note in score.notes
    )
    score = replace(score, notes=notes)
    assert without_sources(read_back(score)) == without_sources(score)


@given(technique_scores())
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
def test_techniques_and_voices_come_back(score: Score) -> None:
    assert without_sources(read_back(score, Ladder(80, 100))) == without_sources(score)


def test_repeats_endings_and_labels_are_kept(tmp_path: Path) -> None:
    (tmp_path / "lessons").mkdir()
    (tmp_path / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
    bars = ["|:-5-|-7-:|-8-|", "|:---|---:|---|"]
    tab = "\n".join(f"  {s}{bars[0] if s == 'G' else bars[1]}" for s in "eBGDAE")
    rows = (
        "tempo: 60 to 100\nrhythm: w w w\nendings: . 1 2,3\nchords: Am | . | C . G .\ntext: . | slower | .\n"
    )
    text = f"---\ntitle: A\ngoal: B\n---\n```exercise a\n{rows}tab: |\n{tab}\n```\n"
    (tmp_path / "lessons" / "01-a.md").write_text(text, encoding="utf-8")
    (exercise,) = read_course(tmp_path).course.exercises
    assert without_sources(read_back(exercise.score)) == without_sources(exercise.score)
    assert len(exercise.score.labels) == 4


def line(*frets: int, values: tuple[Value, ...] | None = None) -> Score:
    neck = Neck()
    heads = [Head(Place(3, fret), neck.pitch_at(Place(3, fret))) for fret in frets]
    values = values or (Value(Fraction(1, 4)),) * len(frets)
    events = [Event(value, (head,)) for value, head in zip(values, heads, strict=True)]
    return assemble(Heading("a", "A", neck, Key(0), TempoMap.constant(60)), into_bars(events))


def test_tab_reads_as_a_teacher_writes_it() -> None:
    assert write_tab(line(5, 10, 7, 5)) == (
        "rhythm: q q q q\n"
        "tab: |\n"
        "  e|----------|\n"
        "  B|----------|\n"
        "  G|-5-10-7-5-|\n"
        "  D|----------|\n"
        "  A|----------|\n"
        "  E|----------|\n"
    )


def test_systems_are_no_wider_than_a_page() -> None:
    written = write_tab(line(*[5, 7] * 60))
    assert max(map(len, written.split("tab: |\n")[1].splitlines())) <= 92
    assert without_sources(read_back(line(*[5, 7] * 60))) == without_sources(line(*[5, 7] * 60))


def test_what_one_row_cannot_hold_is_refused() -> None:
    score = line(5, 7, 8, 5)
    longer = replace(score.notes[0], values=(Value(Fraction(1, 2)),))
    with pytest.raises(ScoreError, match="overlap"):
        write_tab(score.with_notes((longer, *score.notes[1:])))
    shaken = [
        replace(note, techniques=Techniques(vibrato=Vibrato(width_cents=40.0 + nth)))
        for nth, note in enumerate(score.notes)
    ]
    with pytest.raises(ScoreError, match="4 kinds of vibrato"):
        write_tab(score.with_notes(tuple(shaken)))
    third = Bend((BendPoint(Fraction(0), Fraction(2, 3)),))
    bent = replace(score.notes[1], techniques=Techniques(bend=third))
    with pytest.raises(ScoreError, match="no sign"):
        write_tab(score.with_notes((score.notes[0], bent, *score.notes[2:])))
    short = line(*[5] * 16, values=(Value(Fraction(1, 64)),) * 16)
    with pytest.raises(ScoreError, match="letter"):
        write_tab(short)


def test_rhythm_letters_last_as_long_as_an_independent_library_says() -> None:
    """Against music21's named durations; quarterLength counts quarters."""
    from music21.duration import Duration, Tuplet

    types = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th", "t": "32nd"}
    assert set(types) == set(LETTERS)
    for letter, base in LETTERS.items():
        for dots in (0, 1, 2):
            reference = Duration(type=types[letter], dots=dots)
            assert Value(base, dots).duration * 4 == Fraction(reference.quarterLength)
            assert letters_of(Value(base, dots)) == letter + "." * dots
        triplet = Duration(types[letter])
        triplet.appendTuplet(Tuplet(3, 2))
        assert Value(base, 0, TRIPLET).duration * 4 == Fraction(triplet.quarterLength)
        assert letters_of(Value(base, 0, TRIPLET), is_rest=True) == f"r{letter}3"


@pytest.mark.parametrize(
    ("words", "length"),
    [("eighths", Fraction(1, 8)), ("eighth notes", Fraction(1, 8)), ("Quarters", Fraction(1, 4)),
     ("triplets", Fraction(1, 12)), ("dotted quarters", Fraction(3, 8))],
)  # fmt: skip
def test_note_values_by_words(words: str, length: Fraction) -> None:
    value = value_of_words(words)
    assert value is not None
    assert value.duration == length


def test_notebook_quotes_no_more_than_a_line() -> None:
    notebook = Notebook()
    notebook.error("bad-value", Span("a", 1, 1), "Message.", "Mend.")
    assert notebook.is_broken
    assert not Notebook().for_exercise("a/b").is_broken


def test_sung_words_come_back_in_their_verses() -> None:
    quarter = Value(Fraction(1, 4))
    heads = [Head(place, Neck().pitch_at(place, Key(0))) for place in (Place(2, 1), Place(2, 3))]
    events = [Event(quarter, (head,)) for head in (*heads, *heads)] * 2
    sung = [("0", "riv-", 1), ("1/4", "er_", 1), ("3/4", "slow", 2), ("1", "down", 1), ("7/4", "on", 3)]
    labels = tuple(Label(Fraction(at), text, LabelKind.LYRIC, verse=verse) for at, text, verse in sung)
    heading = Heading("a", "A", Neck(), Key(0), TempoMap.constant(60), labels=labels)
    score = assemble(heading, into_bars(events, Meter(4, 4)))
    assert read_back(score).labels == labels
