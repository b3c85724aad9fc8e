"""Signs in rows: waves, dashed spans, hairpins, trills, articulations, strokes through stems."""

from dataclasses import replace
from fractions import Fraction

import pytest

from fretwright.engrave.ink import Glyph, Line, Text, Trace
from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.techniques import USUAL_VIBRATO, WIDE_VIBRATO, Techniques, Trill
from fretwright.score.values import EIGHTH, SIXTEENTH, Value
from plate_reading import hull, ink, ink_of, middle, staff_top, tab_top
from plate_scores import asked, in_two_voices, written

ROW = "q3/5 q3/7 q2/5 q2/7"
MUTED = Techniques(palm_mute=True)


def all_asked(score: Score, ways: Techniques) -> Score:
    """The same techniques for every note."""
    return score.with_notes(tuple(replace(note, techniques=ways) for note in score.notes))


def test_palm_muting_is_one_span_over_its_notes() -> None:
    plate = engrave(asked(written(ROW), b1t0s3=MUTED, b1t1_4s3=MUTED, b1t1_2s2=MUTED))
    parts = ink(plate, "palm-mute")
    words = [each for each in parts if isinstance(each, Text)]
    dashes = [each for each in parts if isinstance(each, Line)]
    assert [each.text for each in words] == ["P.M."]
    frets = ink(plate, "fret")
    assert hull(words[0]).left == pytest.approx(hull(frets[0]).left, abs=0.5)
    assert max(hull(each).right for each in dashes) == pytest.approx(hull(frets[2]).right, abs=0.3)
    assert all(hull(each).bottom < tab_top(plate, 0) for each in parts)


def test_a_lone_muted_note_has_the_word_alone_and_a_gap_ends_a_span() -> None:
    plate = engrave(asked(written(ROW), b1t0s3=MUTED, b1t1_2s2=MUTED))
    assert [each.text for each in ink(plate, "palm-mute")] == ["P.M.", "P.M."]


def test_a_span_over_a_system_break_is_told_again() -> None:
    long = written(" ".join(["e3/5 e3/7 e2/5 e2/7"] * 16))
    plate = engrave(all_asked(long, Techniques(let_ring=True)), PlateStyle(width_mm=100))
    assert len(plate.systems) > 1
    for system in range(len(plate.systems)):
        words = [each for each in ink_of(plate, system, "let-ring") if isinstance(each, Text)]
        assert [each.text for each in words] == ["let ring"]


def test_vibrato_is_a_wave_as_long_as_the_note_and_higher_where_it_is_wide() -> None:
    score = asked(
        written("h3/7 h2/5"),
        b1t0s3=Techniques(vibrato=USUAL_VIBRATO),
        b1t1_2s2=Techniques(vibrato=WIDE_VIBRATO),
    )
    plate = engrave(score)
    usual, wide = ink(plate, "vibrato")
    assert isinstance(usual, Trace)
    assert hull(wide).height > 1.3 * hull(usual).height
    first, second = ink(plate, "fret")
    assert hull(usual).left < middle(first)[0]
    assert middle(second)[0] - 2.5 < hull(usual).right < middle(second)[0]


def test_a_trill_has_its_letters_and_a_wave_over_the_staff() -> None:
    pitch = Neck().pitch_at(Place(1, 8))
    plate = engrave(asked(written("h1/7 h1/5"), b1t0s1=Techniques(trill=Trill(8, pitch, SIXTEENTH))))
    letters = ink(plate, "trill")
    assert [each.name for each in letters] == ["ornamentTrill"]
    waves = ink(plate, "trill-wave")
    assert len(waves) > 3
    assert all(hull(each).bottom < staff_top(plate, 0) for each in (*letters, *waves))
    assert max(hull(each).right for each in waves) < hull(ink(plate, "notehead")[1]).left


def test_a_trill_to_a_note_outside_the_key_has_its_accidental() -> None:
    pitch = Neck().pitch_at(Place(1, 9))
    plate = engrave(asked(written("h1/7 h1/5"), b1t0s1=Techniques(trill=Trill(9, pitch, SIXTEENTH))))
    assert {each.name for each in ink(plate, "trill")} == {"ornamentTrill", "accidentalFlat"}


def test_a_swell_opens_from_nothing_under_the_staff() -> None:
    plate = engrave(asked(written("h3/7 h2/5"), b1t0s3=Techniques(swell=True)))
    ring, *lines = sorted(ink(plate, "hairpin"), key=lambda each: len(each.points), reverse=True)
    assert hull(ring).width < 0.7
    assert len(lines) == 2
    for line in lines:
        assert line.points[0][0] < line.points[1][0]
    ends = [line.points[1][1] for line in lines]
    assert abs(ends[0] - ends[1]) > 1
    assert all(hull(each).top > staff_top(plate, 0) + 4 for each in (ring, *lines))


def test_staccato_and_accent_stand_on_the_side_of_the_head() -> None:
    ways = Techniques(staccato=True, accent=True)
    plate = engrave(asked(written("h1/7 h5/3"), b1t0s1=ways, b1t1_2s5=ways))
    marks = ink(plate, "articulation")
    high, low = ink(plate, "notehead")
    dot, accent = [each for each in marks if abs(middle(each)[0] - middle(high)[0]) < 0.1]
    assert {dot.name, accent.name} == {"articStaccatoAbove", "articAccentAbove"}
    assert all(hull(each).bottom <= hull(high).top for each in (dot, accent))
    below = [each for each in marks if abs(middle(each)[0] - middle(low)[0]) < 0.1]
    assert all(hull(each).top >= hull(low).bottom for each in below)
    assert all(each.name.endswith("Below") for each in below)


def test_marks_of_two_voices_stand_outside_of_both() -> None:
    score = in_two_voices("h1/5 h1/7", "h4/5 h4/7")
    plate = engrave(all_asked(score, Techniques(accent=True)))
    assert [each.name for each in ink(plate, "articulation")].count("articAccentAbove") == 2
    assert [each.name for each in ink(plate, "articulation")].count("articAccentBelow") == 2


@pytest.mark.parametrize(
    ("written_value", "repeated", "strokes"),
    [("q", SIXTEENTH, 2), ("q", EIGHTH, 1), ("h", Value(Fraction(1, 32)), 3), ("w", SIXTEENTH, 2)],
)
def test_tremolo_picking_is_strokes_through_the_stem(
    written_value: str, repeated: Value, strokes: int
) -> None:
    text = {"q": "q3/5 h.2/5", "h": "h3/5 h2/5", "w": "w3/5"}[written_value]
    plate = engrave(asked(written(text), b1t0s3=Techniques(tremolo=repeated)))
    (mark,) = ink(plate, "tremolo")
    assert isinstance(mark, Glyph)
    assert mark.name == f"tremolo{strokes}"
    if written_value != "w":
        assert hull(mark).meets(hull(ink(plate, "stem")[0]))


def test_beamed_notes_show_only_the_strokes_that_their_beams_do_not() -> None:
    ways = Techniques(tremolo=SIXTEENTH)
    plate = engrave(all_asked(written("e3/5 e3/7 e2/5 e2/7 h2/5"), ways))
    names = [each.name for each in ink(plate, "tremolo")]
    assert names == ["tremolo1"] * 4 + ["tremolo2"]
    assert not overlaps(plate)


def test_tab_alone_shows_every_sign_as_well() -> None:
    pitch = Neck().pitch_at(Place(3, 7))
    ways = Techniques(
        palm_mute=True, let_ring=True, vibrato=USUAL_VIBRATO, staccato=True, accent=True, swell=True,
        tremolo=SIXTEENTH, trill=Trill(7, pitch, SIXTEENTH),
    )  # fmt: skip
    plate = engrave(all_asked(written("q3/5 q3/5 h3/5"), ways), PlateStyle(staff=False))
    roles = {each.role for each in plate.ink[0]}
    assert roles >= {
        "palm-mute", "let-ring", "vibrato", "articulation", "hairpin", "tremolo", "trill", "auxiliary",
    }  # fmt: skip
    assert {each.layer for each in plate.ink[0]} == {"tab"}
    assert not overlaps(plate)


def test_signs_belong_to_their_notes() -> None:
    plate = engrave(all_asked(written(ROW), Techniques(vibrato=USUAL_VIBRATO)))
    notes: tuple[Note, ...] = written(ROW).notes
    assert [each.note for each in ink(plate, "vibrato")] == [note.id for note in notes]
