"""Two voices: stems apart, heads aside, rests out of the way, arcs on their own sides.

Common practice, no source, wherever no other is named.
"""

import pytest

from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import TAB_SPACE, PlateStyle
from plate_reading import frets, hull, ink, middle, staff_top, tab_top
from plate_scores import in_two_voices, written


def stems_of(plate: Plate) -> list[str]:
    """For each stem of the staff, from left to right, which way it points from the head it touches."""
    heads = [hull(each) for each in ink(plate, "notehead")]
    ways = []
    for stem in ink(plate, "stem", layer="staff"):
        box = hull(stem)
        near = [head for head in heads if head.meets(box)]
        up = any(box.top < head.top - 0.5 for head in near)
        ways.append("up" if up else "down")
    return ways


def test_the_upper_voice_points_up_and_the_lower_one_down() -> None:
    plate = engrave(in_two_voices("h1/0 h1/1", "h5/3 h5/2"))
    assert sorted(stems_of(plate)) == ["down", "down", "up", "up"]
    alone = engrave(written("h1/0 h1/1"))
    assert stems_of(alone) == ["down", "down"]


def test_voices_with_other_values_share_their_moments() -> None:
    """The melody's eighths over a half note: one fret number under each head, in one tab."""
    plate = engrave(in_two_voices("e1/0 e1/1 e1/3 e1/0 h1/1", "h5/3 h5/2"))
    numbers = sorted(frets(plate))
    assert numbers == [(1, "0"), (1, "0"), (1, "1"), (1, "1"), (1, "3"), (5, "2"), (5, "3")]
    assert len(plate.moments) == 5
    first = [each for each in ink(plate, "fret") if each.note in {"b1t0s1", "b1t0s5"}]
    assert middle(first[0])[0] == pytest.approx(middle(first[1])[0], abs=0.05)


def test_voices_a_third_apart_stand_on_one_axis() -> None:
    plate = engrave(in_two_voices("w1/0", "w2/1"))  # E and C
    high, low = ink(plate, "notehead")
    assert middle(high)[0] == pytest.approx(middle(low)[0])


def test_a_second_puts_the_lower_voice_to_the_right() -> None:
    plate = engrave(in_two_voices("h2/3 h2/3", "h3/5 h3/5"))  # D over C
    upper = next(each for each in ink(plate, "notehead") if each.note == "b1t0s2")
    lower = next(each for each in ink(plate, "notehead") if each.note == "b1t0s3")
    assert hull(lower).left == pytest.approx(hull(upper).right, abs=0.15)
    first, second = [middle(each)[0] for each in ink(plate, "stem", layer="staff")][:2]
    assert first == pytest.approx(second, abs=0.02)  # one line for both stems


def test_voices_that_cross_put_the_upper_one_to_the_right() -> None:
    plate = engrave(in_two_voices("h4/2 h4/2", "h2/3 h2/3"))
    upper = next(each for each in ink(plate, "notehead") if each.note == "b1t0s4")
    lower = next(each for each in ink(plate, "notehead") if each.note == "b1t0s2")
    assert hull(upper).left > hull(lower).right
    assert not overlaps(plate)


def test_a_unison_has_one_head_with_two_stems_and_two_numbers() -> None:
    plate = engrave(in_two_voices("q2/0 q2/0 h2/0", "q3/4 q3/4 h3/4"))
    assert len(ink(plate, "notehead")) == 3
    assert sorted(stems_of(plate)[:2]) != ["down", "down"]
    assert len(ink(plate, "fret")) == 6
    assert set(plate.boxes) == {note.id for note in in_two_voices("q2/0 q2/0 h2/0", "q3/4 q3/4 h3/4").notes}
    assert {box.layer for box in plate.boxes["b1t0s3"]} == {"staff", "tab"}


def test_a_unison_in_other_values_has_two_heads() -> None:
    plate = engrave(in_two_voices("q2/0 q2/1 h2/3", "h3/4 h3/5"))
    assert len([each for each in ink(plate, "notehead") if each.note in {"b1t0s2", "b1t0s3"}]) == 2
    assert not overlaps(plate)


def test_rests_of_two_voices_stand_apart_and_clear_of_the_notes() -> None:
    plate = engrave(in_two_voices("qr q1/0 h1/1", "q5/3 qr h5/2"))
    upper, lower = ink(plate, "rest")
    assert middle(upper)[1] < staff_top(plate, 0) + 2 < middle(lower)[1]
    assert not overlaps(plate)


def test_rests_that_agree_are_one_in_the_middle() -> None:
    plate = engrave(in_two_voices("qr q1/0 h1/1", "qr q5/3 h5/2"))
    (rest,) = ink(plate, "rest")
    assert middle(rest)[1] == pytest.approx(staff_top(plate, 0) + 2, abs=0.2)


def test_a_bass_note_under_a_rest_keeps_its_ledger_line() -> None:
    plate = engrave(in_two_voices("er e2/1 q3/0 h1/0", "q5/3 q4/2 h5/3"))
    low = next(each for each in ink(plate, "notehead") if each.note == "b1t0s5")
    assert any(hull(line).meets(hull(low)) for line in ink(plate, "ledger"))


def test_ties_and_slurs_of_a_voice_stand_on_its_own_side() -> None:
    plate = engrave(in_two_voices("h1/5 h~1/5", "h4/5 h~4/5"))
    up, down = sorted(ink(plate, "tie"), key=lambda each: each.y0)
    assert up.rise < 0 < down.rise
    slurred = engrave(in_two_voices("h1/5 h1/7h", "h4/5 h4/7h"))
    high, low = sorted(ink(slurred, "slur", layer="staff"), key=lambda each: each.y0)
    assert high.rise < 0 < low.rise


def test_tuplets_of_a_voice_stand_on_its_own_side() -> None:
    plate = engrave(in_two_voices("ex1/0 ex1/1 ex1/3 h.1/0", "qx5/3 ex5/2 h.5/0"))
    numbers = sorted(ink(plate, "tuplet-number"), key=lambda each: each.y)
    assert hull(numbers[0]).bottom < staff_top(plate, 0) + 1
    assert hull(numbers[1]).top > staff_top(plate, 0) + 3


def test_tab_alone_has_the_upper_rhythm_above_and_the_lower_below() -> None:
    plate = engrave(in_two_voices("q1/0 q1/1 h1/3", "h5/3 h5/2"), PlateStyle(staff=False))
    top, bottom = tab_top(plate, 0), tab_top(plate, 0) + 5 * TAB_SPACE
    stems = ink(plate, "stem")
    assert len([each for each in stems if hull(each).bottom < top]) == 3
    assert len([each for each in stems if hull(each).top > bottom]) == 2
    assert not overlaps(plate)


def test_a_bar_of_one_voice_is_set_as_before() -> None:
    """Where the lower voice is silent in a whole bar, stems point as they would alone."""
    both = in_two_voices("h1/0 h1/1", "h5/3 h5/2")
    alone = both.with_notes(tuple(note for note in both.notes if note.voice == 1))
    assert stems_of(engrave(alone)) == ["down", "down"]
