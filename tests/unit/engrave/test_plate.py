"""What stands where on a plate, read by its primitives."""

import json
import os
import re
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from fretwright.base.errors import RenderError
from fretwright.engrave.ink import Arc, Text
from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import TAB_SPACE, PlateStyle
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.assemble import BarOfEvents, Event, Head, Heading, assemble
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import HALF, QUARTER
from fretwright.theory.key import Key
from fretwright.theory.pitch import NoteName, Pitch
from plate_reading import bar_of, frets, hull, ink, ink_of, middle, staff_top, step, tab_top
from plate_scores import chord_name, wandering, words, written

SVG = "{http://www.w3.org/2000/svg}"
HAMMERED = "e6/5=1 e6/8h=4 e5/5=1 e5/7h=3 q4/5=1 q4/7=3"
LONG = " ".join(["e5/0 e5/2 e5/3 e4/0 e4/2 e4/3 e3/0 e3/2"] * 12)


def test_each_fret_number_stands_on_its_string_and_in_its_bar() -> None:
    plate = engrave(written("q6/5 q5/7 q4/12 q1/0 w2/3"))
    assert frets(plate) == [(6, "5"), (5, "7"), (4, "12"), (1, "0"), (2, "3")]
    assert [bar_of(plate, each, 0) for each in ink(plate, "fret")] == [1, 1, 1, 1, 2]


def test_a_fret_number_breaks_its_own_string_and_no_other() -> None:
    plate = engrave(written("w4/12"))
    number = hull(ink(plate, "fret")[0])
    top = tab_top(plate, 0)
    for string in range(1, 7):
        pieces = [
            hull(each)
            for each in ink(plate, "string")
            if abs(middle(each)[1] - top - (string - 1) * TAB_SPACE) < 0.01
        ]
        under = [piece for piece in pieces if piece.left < number.right and piece.right > number.left]
        assert len(under) == (0 if string == 4 else 1)


def test_guitar_notes_stand_an_octave_above_their_sound() -> None:
    """The low E is written in the space under the third ledger line, the high E in the top space."""
    plate = engrave(written("q6/0 q5/0 q2/1 q1/0"))
    assert [step(plate, head) for head in ink(plate, "notehead")] == [-7, -4, 5, 7]
    low = ink(plate, "ledger")
    assert len(low) == 3 + 2


def test_a_note_head_stands_straight_over_its_fret_number() -> None:
    plate = engrave(written("q6/5 e5/7 e5/12 h1/0"))
    heads, numbers = ink(plate, "notehead"), ink(plate, "fret")
    for head, number in zip(heads, numbers, strict=True):
        assert middle(head)[0] == pytest.approx(middle(number)[0], abs=0.05)


def test_accidentals_follow_the_key_and_hold_to_the_bar_line() -> None:
    plate = engrave(written("q4/4 q4/3 q4/4 q4/4 q4/4 q4/2 q2/0 q4/4", key="G major"))
    marks = [(each.name, each.note) for each in ink(plate, "accidental")]
    # in bar 1 F natural (spelled F) after the F sharp of the key, then F sharp again; bar 2 starts afresh
    assert marks == [("accidentalNatural", "b1t1-4s4"), ("accidentalSharp", "b1t1-2s4")]


def test_an_accidental_is_for_its_own_octave_alone() -> None:
    plate = engrave(written("q4/4 q1/2 q1/1 q4/3", key="C major"))
    assert [each.note for each in ink(plate, "accidental")] == [
        "b1t0s4", "b1t1-4s1", "b1t1-2s1", "b1t3-4s4",
    ]  # fmt: skip


def test_a_tied_note_has_a_head_for_each_value_and_brackets_in_the_tab() -> None:
    plate = engrave(written("h.4/4 h4/2 q4/4 h4/2", key="D major"))
    assert [each.text for each in ink(plate, "fret")] == ["4", "2", "(2)", "4", "2"]
    (tie,) = ink(plate, "tie")
    bars = [bar for bar in plate.bars if bar.system == 0]
    line_sp = (bars[0].x + bars[0].width) / plate.staff_space_mm
    assert hull(tie).left < line_sp < hull(tie).right
    assert len(plate.boxes["b1t3-4s4"]) == 4


def test_slurs_have_an_arc_in_both_layers_and_a_letter_at_the_arcs_middle() -> None:
    plate = engrave(written(HAMMERED))
    assert len(ink(plate, "slur", layer="staff")) == 2
    arcs, letters = ink(plate, "slur", layer="tab"), ink(plate, "letter")
    numbers = {each.note: hull(each) for each in ink(plate, "fret")}
    for arc, letter, first, last in zip(
        arcs, letters, ("b1t0s6", "b1t1-4s5"), ("b1t1-8s6", "b1t3-8s5"), strict=True
    ):
        assert isinstance(letter, Text)
        assert letter.text == "H"
        assert middle(letter)[0] == pytest.approx(middle(arc)[0], abs=0.02)
        assert hull(letter).bottom < hull(arc).top
        assert numbers[first].left < hull(arc).left < numbers[first].right
        assert numbers[last].left < hull(arc).right < numbers[last].right


def test_pull_offs_and_slides_have_their_own_letters() -> None:
    plate = engrave(written("q3/7 q3/5p q3/5 q3/9s"))
    assert [each.text for each in ink(plate, "letter")] == ["P", "sl."]
    (stroke,) = ink(plate, "slide", layer="tab")
    assert stroke.y0 > stroke.y1
    assert len(ink(plate, "slide", layer="staff")) == 1


def test_a_letter_keeps_clear_of_the_bar_line_under_its_arc() -> None:
    plate = engrave(written("h3/5 q3/5 q5/5 h5/7h h3/5"))
    (letter,) = ink(plate, "letter")
    for line in ink(plate, "bar-line", layer="tab"):
        assert not hull(letter).meets(hull(line), -0.2)


def test_a_run_of_slurs_stands_under_one_arc_on_the_staff() -> None:
    plate = engrave(written("e3/5 e3/7h e3/9h e3/7p h2/5"))
    assert len(ink(plate, "slur", layer="staff")) == 1
    assert len(ink(plate, "slur", layer="tab")) == 3


def test_an_arc_over_a_system_break_is_drawn_in_two_parts() -> None:
    every_bar_line_slurred = (
        "e3/0 e5/2 e5/3 e4/0 e4/2 e4/3 e2/0 e3/0 " + "e3/2h e5/2 e5/3 e4/0 e4/2 e4/3 e2/0 e3/0 " * 3
    )
    plate = engrave(written(every_bar_line_slurred), PlateStyle(width_mm=100))
    assert len(plate.systems) == 2
    torn = [each for each in ink(plate, "slur") if isinstance(each, Arc) and each.opens]
    assert sorted((each.layer, each.opens) for each in torn) == [
        ("staff", "left"), ("staff", "right"), ("tab", "left"), ("tab", "right"),
    ]  # fmt: skip


def test_fingers_stand_in_one_row_under_the_tab() -> None:
    plate = engrave(written(HAMMERED))
    digits = ink(plate, "finger")
    assert [each.text for each in digits] == list("141313")
    assert len({round(each.y, 6) for each in digits}) == 1
    lowest = tab_top(plate, 0) + 5 * TAB_SPACE
    assert all(hull(each).top > lowest for each in digits)


def test_strokes_stand_in_one_row_over_the_tab() -> None:
    plate = engrave(written("q1/5 q1/7 q1/5h h2/5 q2/7", strokes=True))
    names = [each.name for each in ink(plate, "stroke")]
    assert names == ["stringsDownBow", "stringsUpBow", "stringsDownBow", "stringsUpBow"]
    assert all(hull(each).bottom < tab_top(plate, 0) for each in ink(plate, "stroke"))
    assert not ink(engrave(written("q1/5", strokes=True), PlateStyle(strokes=False)), "stroke")


def test_a_tapped_note_has_a_t_over_it() -> None:
    (mark,) = ink(engrave(written("q1/5 q1/12t h2/5")), "stroke")
    assert isinstance(mark, Text)
    assert (mark.text, mark.note) == ("T", "b1t1-4s1")


def test_systems_but_a_loose_last_one_reach_the_right_margin() -> None:
    plate = engrave(written(LONG + " q5/0 h.r"))
    assert len(plate.systems) > 2
    for system in plate.systems[:-1]:
        assert system.width == pytest.approx(170.0, abs=0.01)
    lone = engrave(written("h5/0 h5/2"))
    assert lone.systems[0].width < 120


def test_the_bar_number_opens_every_system_but_the_first() -> None:
    plate = engrave(written(LONG))
    numbers = [each.text for each in ink(plate, "bar-number")]
    firsts = [plate.bars[system.first_bar].number for system in plate.systems]
    assert numbers == [str(number) for number in firsts[1:]]
    assert not ink_of(plate, 0, "bar-number")


def test_repeats_and_endings() -> None:
    score = written(
        "w5/0 w5/2 w5/3 w5/5",
        bars={
            0: {"opens_repeat": True},
            1: {"closes_repeat": 2, "endings": (1,)},
            2: {"endings": (2,)},
        },
    )
    plate = engrave(score)
    assert [each.text for each in ink(plate, "ending-number")] == ["1.", "2."]
    assert len(ink(plate, "repeat-dot", layer="staff")) == 4
    assert len(ink(plate, "repeat-dot", layer="tab")) == 4
    brackets = ink(plate, "ending")
    assert all(hull(each).bottom < staff_top(plate, 0) for each in brackets)
    thrice = engrave(written("w5/0 w5/2", bars={1: {"closes_repeat": 3}}))
    assert [each.text for each in ink(thrice, "repeat-count")] == ["× 3"]


def test_the_last_bar_line_is_thin_and_thick() -> None:
    plate = engrave(written("w5/0 w5/2"))
    lines = [round(hull(each).width, 2) for each in ink(plate, "bar-line", layer="staff")]
    assert lines == [0.16, 0.16, 0.5]


def test_chord_names_and_words_stand_over_the_staff_in_rows() -> None:
    plate = engrave(
        written(
            "w1/12 w5/2",
            labels=[chord_name(Fraction(0), "Am7"), chord_name(Fraction(1), "D"), words(Fraction(0), "ring")],
        )
    )
    names, (word,) = ink(plate, "chord"), ink(plate, "text")
    assert [each.text for each in names] == ["Am7", "D"]
    assert names[0].y == names[1].y
    assert hull(names[0]).bottom < hull(ink(plate, "notehead")[0]).top
    assert hull(word).bottom < hull(names[0]).top


@pytest.mark.parametrize(
    ("written_name", "printed"),
    [
        ("Bb7", "B♭7"),
        ("F#m7b5", "F♯m7♭5"),
        ("D/F#", "D/F♯"),
        ("Cmaj7#11", "Cmaj7♯11"),
        ("N.C.", "N.C."),
    ],
)
def test_chord_names_are_printed_with_real_accidentals(written_name: str, printed: str) -> None:
    plate = engrave(written("w5/0", labels=[chord_name(Fraction(0), written_name)]))
    assert [each.text for each in ink(plate, "chord")] == [printed]


def test_chord_names_between_notes_stand_in_proportion_and_apart() -> None:
    names = [chord_name(Fraction(n, 4), name) for n, name in enumerate(("Gmaj7", "F#m7b5", "Bbmaj7", "C"))]
    for text in ("w5/3", "wr", "h5/3 h5/5"):
        plate = engrave(written(text, labels=names))
        assert not overlaps(plate)
        lefts = [hull(each).left for each in ink(plate, "chord")]
        assert lefts == sorted(lefts)
        assert len(lefts) == 4


def test_words_wider_than_the_plate_are_broken_into_lines_inside_it() -> None:
    text = "play this as slowly as you need to and keep every finger down until the next string is reached"
    plate = engrave(written("w5/0 w5/2", labels=[words(Fraction(1), text)]), PlateStyle(width_mm=84))
    lines = ink(plate, "text")
    assert len(lines) > 1
    ordered = sorted(lines, key=lambda each: hull(each).top)
    assert " ".join(each.text for each in ordered) == text
    assert all(hull(each).left >= 0 and hull(each).right <= 84 / 1.75 + 0.01 for each in lines)


def test_a_tuplet_has_its_number_and_a_bracket_only_without_a_beam() -> None:
    beamed = engrave(written("ex5/0 ex5/2 ex5/3 h.4/0"))
    assert len(ink(beamed, "tuplet-number")) == 1
    assert not ink(beamed, "tuplet")
    split = engrave(written("qx5/0 ex5/2 h.4/0"))
    assert len(ink(split, "tuplet-number")) == 1
    assert len(ink(split, "tuplet")) == 4


def test_a_rest_of_a_whole_bar_stands_in_its_middle() -> None:
    plate = engrave(written("h.r h.5/0", meter=Meter(3, 4)))
    (rest,) = ink(plate, "rest")
    assert rest.name == "restWhole"
    first = plate.bars[0]
    opening = ink(plate, "meter")[-1]
    left = hull(opening).right
    right = (first.x + first.width) / plate.staff_space_mm
    assert middle(rest)[0] == pytest.approx((left + right) / 2, abs=0.7)


def test_dots_stand_in_spaces() -> None:
    plate = engrave(written("q.2/1 e2/0 q.2/0 e2/1"))
    for dot in ink(plate, "dot"):
        assert (2 * (middle(dot)[1] - staff_top(plate, 0))) % 2 == pytest.approx(1.0)


def test_tab_alone_carries_its_rhythm_below() -> None:
    plate = engrave(written("e6/3 e6/5 q5/2 h4/0"), PlateStyle(staff=False))
    assert not ink(plate, "staff-line")
    assert not ink(plate, "notehead")
    bottom = tab_top(plate, 0) + 5 * TAB_SPACE
    stems, (beam,) = ink(plate, "stem"), ink(plate, "beam")
    assert len(stems) == 4
    assert all(hull(each).top > bottom for each in (*stems, beam))
    assert [each.name for each in ink(plate, "rhythm-head")] == ["noteheadHalf"]
    assert [number for _, number in frets(plate)] == ["3", "5", "2", "0"]


def test_notes_at_one_time_share_a_stem_and_a_column() -> None:
    plate = engrave(written("h5/3+4/2+3/0+2/1+1/0 h5/2+4/3"))
    stems = ink(plate, "stem")
    assert len(stems) == 2
    xs = {round(middle(each)[0], 2) for each in ink(plate, "fret")[:5]}
    assert len(xs) == 1


def test_heads_a_step_apart_stand_on_both_sides_of_the_stem() -> None:
    plate = engrave(written("w3/0+4/7"))  # G3 and A3
    low, high = ink(plate, "notehead")
    assert hull(high).left > hull(low).left + 1.0


def test_the_same_score_gives_the_same_bytes() -> None:
    score = written(HAMMERED + " q5/0")
    first, second = engrave(score), engrave(score)
    assert first.svg == second.svg
    assert first.boxes_json() == second.boxes_json()


def test_another_process_gives_the_same_bytes() -> None:
    """Nothing depends on the order of a set, which differs from process to process."""
    program = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from plate_scores import wandering\n"
        "from fretwright.engrave.plate import engrave\n"
        "plate = engrave(*wandering(11))\n"
        "sys.stdout.buffer.write((plate.svg + plate.boxes_json()).encode())"
    )
    tests = str(Path(__file__).parents[2])
    made = {
        subprocess.run(
            [sys.executable, "-c", program, tests],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    plate = engrave(*wandering(11))
    assert made == {(plate.svg + plate.boxes_json()).encode()}


def test_the_svg_names_its_notes_and_itself() -> None:
    score = written(HAMMERED)
    plate = engrave(score, title="Up & back", description="Sixth string, fret five.", id_prefix="x1")
    root = ET.fromstring(plate.svg)  # noqa: S314 - our own text
    assert root.get("role") == "img"
    assert root.get("aria-labelledby") == "x1-title x1-desc"
    assert root.find(f"{SVG}title").text == "Up & back"  # type: ignore[union-attr]  # both stand in every plate
    assert root.find(f"{SVG}desc").text == "Sixth string, fret five."  # type: ignore[union-attr]  # both stand in every plate
    groups = {group.get("id"): group.get("data-note") for group in root.iter(f"{SVG}g") if group.get("id")}
    wanted = {f"x1-{note.id}-{layer}": note.id for note in score.notes for layer in ("staff", "tab")}
    assert groups == wanted
    ids = re.findall(r'\bid="([^"]+)"', plate.svg)
    assert len(ids) == len(set(ids))
    assert all(name.startswith("x1-") for name in ids)
    assert not list(root.iter(f"{SVG}text"))


def test_every_use_has_its_definition() -> None:
    svg = engrave(written(HAMMERED)).svg
    used = set(re.findall(r'href="#([^"]+)"', svg))
    defined = set(re.findall(r'<path id="([^"]+)"', svg))
    assert used == defined


def test_boxes_hold_every_note_in_both_layers() -> None:
    plate = engrave(written(LONG))
    data = json.loads(plate.boxes_json())
    assert set(data["notes"]) == {note.id for note in written(LONG).notes}
    for boxes in data["notes"].values():
        assert {box["layer"] for box in boxes} == {"staff", "tab"}
        for box in boxes:
            system = plate.systems[box["system"]]
            assert 0 <= box["x"] <= plate.width_mm
            assert system.y - 12 < box["y"] < system.y + system.height + 5
    assert [bar["index"] for bar in data["bars"]] == list(range(12))


def test_moments_say_where_a_playhead_stands() -> None:
    plate = engrave(written("q5/0 qr h5/2 w4/0"))
    assert [moment.at for moment in plate.moments] == [0, Fraction(1, 4), Fraction(1, 2), 1]
    boxes = plate.boxes["b2t0s4"]
    last = plate.moments[-1]
    assert all(box.x < last.x < box.x + box.width for box in boxes)
    assert json.loads(plate.boxes_json())["moments"][1]["at"] == "1/4"


def test_a_bar_too_dense_for_the_width_makes_the_staff_smaller() -> None:
    dense = written(" ".join(["t5/10 t5/12"] * 16))
    plate = engrave(dense, PlateStyle(width_mm=70))
    assert plate.staff_space_mm < 1.75
    assert plate.systems[0].width <= 70.001


def test_one_voice_in_two_values_at_once_is_refused() -> None:
    score = written("q5/0+4/2 h.3/0")
    crossed = score.with_notes((replace(score.notes[0], values=(HALF,)), *score.notes[1:]))
    with pytest.raises(RenderError, match="different values"):
        engrave(crossed)


@pytest.mark.parametrize(
    ("tuning", "clef"),
    [("standard", "gClef8vb"), ("bass", "fClef8vb"), ("GCEA", "gClef"), ("7-string", "gClef8vb")],
)
def test_instruments_read_their_own_clef(tuning: str, clef: str) -> None:
    neck = Neck(tuning=TUNINGS[tuning])
    plate = engrave(written("w1/0", neck=neck))
    assert [each.name for each in ink(plate, "clef")] == [clef]
    lines = {round(middle(each)[1], 3) for each in ink(plate, "string")}
    assert len(lines) == neck.tuning.string_count


def test_other_tunings_and_capos_are_told() -> None:
    plate = engrave(written("w1/0", neck=Neck(tuning=TUNINGS["DADGAD"], capo=2)))
    assert [each.text for each in ink(plate, "text")] == ["Tuning D A D G A D · Capo 2"]


def test_widths_that_cannot_hold_music_are_refused() -> None:
    with pytest.raises(RenderError, match="cannot be set"):
        PlateStyle(width_mm=20)


def test_fingers_of_a_chord_are_stacked_with_the_highest_string_on_top() -> None:
    marks = ink(engrave(written("w5/3=3+4/2=2+2/1=1")), "finger")
    assert [mark.text for mark in sorted(marks, key=lambda each: each.y)] == ["1", "2", "3"]


def _changing_meter(bars: int) -> Score:
    neck, key = Neck(), Key(0)
    place = Place(5, 3)
    note = Event(QUARTER, (Head(place, neck.pitch_at(place, key)),))
    meters = [Meter(4, 4) if index % 2 else Meter(3, 4) for index in range(bars)]
    return assemble(
        Heading("line", "Line", neck, key, TempoMap.constant(80)),
        [BarOfEvents((note,) * meter.count, meter) for meter in meters],
    )


@pytest.mark.parametrize("style", [PlateStyle(), PlateStyle(staff=False)])
def test_a_new_meter_is_printed_and_announced_at_the_end_of_the_line_before(style: PlateStyle) -> None:
    plate = engrave(_changing_meter(12), style)
    assert len(plate.systems) > 1
    for system in plate.systems:
        figures = ink_of(plate, system.index, "meter")
        count = system.last_bar - system.first_bar + 1
        announced = system.last_bar + 1 < 12
        assert len(figures) == 2 * (count + announced)
        assert system.width <= 170.001
    assert not overlaps(plate)


def test_scores_of_rests_blank_labels_and_strange_letters_are_set() -> None:
    for style in (PlateStyle(), PlateStyle(staff=False)):
        assert not overlaps(engrave(written("wr hr q.r er sr sr er qr er"), style))
    labels = [chord_name(Fraction(0), ""), words(Fraction(0), " "), words(Fraction(0), "\N{GRINNING FACE} ж")]
    plate = engrave(written("w3/2", labels=labels))
    assert len(ink(plate, "text")) == 1
    assert not ink(plate, "chord")


def test_a_triple_sharp_is_refused() -> None:
    score = written("w3/2")
    note = replace(score.notes[0], pitch=Pitch(NoteName("F", 3), 3))
    with pytest.raises(RenderError, match="no accidental"):
        engrave(score.with_notes((note,)))
