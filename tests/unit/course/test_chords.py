"""What must hold of every exercise from chords, whatever the chart and the pattern."""

import tempfile
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.course.chords import MOST_STROKES
from fretwright.course.model import Exercise, Reading
from fretwright.course.reader import read_course
from fretwright.course.struck import bass_places
from fretwright.course.values import FEELS
from fretwright.fingering.finger import finger
from fretwright.fretboard.neck import Place
from fretwright.fretboard.voicing import Voicing
from fretwright.fretboard.voicings import voicings
from fretwright.score.held import voicings_of
from fretwright.score.note import Note
from fretwright.score.score import LabelKind, Score, Writing
from fretwright.score.techniques import PickingFinger, Stroke
from fretwright.sound.band.feels import FEELS as BAND_FEELS
from fretwright.theory.chord import Chord

CHORDS = ("C", "A", "G", "E", "D", "Am", "Em", "Dm", "F", "Bm", "A7", "E7", "G7", "Cmaj7", "D/F#", "Dsus4")
STRUMS = ("d", "u", "D", "U", "x", "ds", "u2", "d3", "(d)", "(u)", "b", "o", "r", ".", ".")
PICKS = ("p", "i", "m", "a", "pa", "im", "P", "r", ".", ".")
METERS = {"4/4": (4, 8, 12, 16), "3/4": (3, 6, 12), "6/8": (6, 12), "2/4": (2, 4, 8), "12/8": (12,)}


def read(keys: str, block: str = "exercise") -> Reading:
    lesson = f"---\ntitle: A\ngoal: B\n---\n```{block} a\ntempo: 72\n{keys}\n```\n"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "lessons").mkdir()
        (folder / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
        (folder / "lessons" / "01-a.md").write_text(lesson, encoding="utf-8")
        return read_course(folder)


def built(keys: str, block: str = "exercise") -> Exercise:
    reading = read(keys, block)
    assert not [finding for finding in reading.findings if finding.is_error], reading.findings
    (exercise,) = reading.course.exercises
    return exercise


def voicing_at(score: Score, at: Fraction) -> Voicing:
    names = [label for label in score.labels if label.kind is LabelKind.CHORD and label.at <= at]
    assert names[-1].voicing is not None
    return names[-1].voicing


def together(score: Score) -> dict[Fraction, list[Note]]:
    found: dict[Fraction, list[Note]] = {}
    for note in score.notes:
        found.setdefault(note.onset, []).append(note)
    return found


@st.composite
def charts(draw: st.DrawFn, entries: tuple[str, ...]) -> tuple[list[str], str, list[str], Fraction]:
    """Chords, a meter, a pattern of one bar, and the length of a bar."""
    meter = draw(st.sampled_from(sorted(METERS)))
    size = draw(st.sampled_from(METERS[meter]))
    pattern = draw(st.lists(st.sampled_from(entries), min_size=size, max_size=size))
    chords = draw(st.lists(st.sampled_from(CHORDS), min_size=1, max_size=5))
    return chords, meter, pattern, Fraction(meter)


@given(charts(STRUMS))
@settings(max_examples=80, deadline=None)
def test_every_stroke_stands_where_it_is_written(
    chart: tuple[list[str], str, list[str], Fraction],
) -> None:
    chords, meter, pattern, length = chart
    if not set(pattern) - {".", "r", "(d)", "(u)"}:
        pattern = ["d", *pattern[1:]]
    score = built(f"chords: {' | '.join(chords)}\nmeter: {meter}\nstrum: {' '.join(pattern)}").score
    step = length / len(pattern)
    struck = {
        bar * length + place * step: sign
        for bar in range(len(chords))
        for place, sign in enumerate(pattern)
        if sign not in {".", "r", "(d)", "(u)"}
    }
    assert set(together(score)) == set(struck)
    for at, notes in together(score).items():
        check_stroke(struck[at], notes, voicing_at(score, at))
    air = {air.at: air.stroke for air in score.air_strokes}
    assert {at % length for at in air} == {i * step for i, sign in enumerate(pattern) if "(" in sign}
    assert finger(score).problems == ()


def check_stroke(sign: str, notes: list[Note], voicing: Voicing) -> None:
    places = [note.place for note in notes]
    assert set(places) <= set(voicing.places)
    assert {note.techniques.accent for note in notes} == {sign in {"D", "U"}}
    assert {note.techniques.dead for note in notes} == {sign == "x"}
    assert {note.techniques.ghost for note in notes} == {sign == "ds"}
    for note in notes:
        assert note.finger is not None
        assert int(note.finger) == voicing.fingers[note.string - 1]
        assert note.pitch.midi == voicing.neck.midi_at(note.place)
    if sign in {"b", "o"}:
        assert places == [bass_places(voicing)[sign == "o"]]
    elif sign == "u2":
        assert places == list(voicing.places[-2:])
    elif sign == "d3":
        assert places == list(voicing.places[:3])
    else:
        assert places == list(voicing.places)
    if sign.lower()[0] in "du":
        assert {note.stroke for note in notes} == {Stroke.DOWN if sign.lower()[0] == "d" else Stroke.UP}


@given(charts(PICKS))
@settings(max_examples=60, deadline=None)
def test_every_finger_has_its_string(chart: tuple[list[str], str, list[str], Fraction]) -> None:
    chords, meter, pattern, length = chart
    if not set(pattern) - {".", "r"}:
        pattern = ["p", *pattern[1:]]
    score = built(f"chords: {' | '.join(chords)}\nmeter: {meter}\npicking: {' '.join(pattern)}").score
    step = length / len(pattern)
    for at, notes in together(score).items():
        sign = pattern[int(at % length / step)]
        voicing = voicing_at(score, at)
        assert sorted(note.picking_finger or "" for note in notes) == sorted(sign.lower())
        assert len({note.string for note in notes}) == len(notes)
        for note in notes:
            assert note.stroke is None
            assert note.place == place_of(note.picking_finger, voicing)
    assert finger(score).problems == ()


def place_of(picking: PickingFinger | None, voicing: Voicing) -> Place:
    """Thumb on the bass, ring, middle and index on the highest strings: common practice, no source."""
    highest = {PickingFinger.RING: -1, PickingFinger.MIDDLE: -2, PickingFinger.INDEX: -3}
    return bass_places(voicing)[0] if picking not in highest else voicing.places[highest[picking]]


def test_plucked_strings_ring_until_the_chord_changes() -> None:
    score = built("chords: C | G\npicking: p i m a").score
    rings = [note.techniques.let_ring for note in score.notes]
    assert rings == [True, True, True, False, True, True, True, False]


def test_a_chord_has_one_voicing_throughout() -> None:
    score = built("chords: G | C | D | G | Em | G\nstrum: d d d d").score
    assert len(voicings_of(score)) == 4


@pytest.mark.parametrize(("capo", "tuning"), [(2, "standard"), (0, "DADGAD"), (3, "drop D")])
def test_tuning_and_capo_are_respected(capo: int, tuning: str) -> None:
    """A chord is named as it sounds: behind a capo at fret 2 an A is held as a G is without."""
    score = built(f"chords: A | D\nstrum: d d d d\ncapo: {capo}\ntuning: {tuning}").score
    chord = Chord.parse("A")
    sounding = {note.pitch.midi % 12 for note in score.notes if note.onset < 1}
    assert sounding <= chord.pitch_classes
    if tuning == "standard":
        assert voicings_of(score)[0].frets == voicings(Chord.parse("G"), count=1)[0].frets


def test_slashes_say_all_there_is_or_are_not_taken() -> None:
    assert built("chords: G\nstrum: d D x (u)").score.writing is Writing.SLASHES
    assert built("chords: G\nstrum: b d d d").score.writing is Writing.NOTES
    assert built("chords: G\npicking: p i m a").score.writing is Writing.NOTES
    assert built("chords: G\nstrum: d d d d\nwritten: in full").score.writing is Writing.NOTES
    assert built("chords: G\n", "chart").score.writing is Writing.SLASHES


def test_a_pickup_has_the_end_of_the_pattern() -> None:
    score = built("chords: G | C\nmeter: 3/4\npickup: q\nstrum: d u D").score
    assert [str(bar.length) for bar in score.bars] == ["1/4", "3/4"]
    (first, *_) = together(score).values()
    assert first[0].techniques.accent
    assert first[0].onset == 0


def test_feels_are_those_that_the_band_knows() -> None:
    assert set(FEELS) == set(BAND_FEELS)
    assert built("form: quick change\nkey: A major\nband: slow blues in 12/8", "chart").band == "slow blues"


def test_the_limits_leave_room_for_a_long_song() -> None:
    """A hundred bars of sixteenths."""
    assert MOST_STROKES >= 100 * 16
