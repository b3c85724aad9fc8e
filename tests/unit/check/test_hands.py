"""Tempos, stretches and strings left out."""

from collections.abc import Callable

import pytest

from fretwright.base.findings import Severity
from fretwright.check.check import Checked

Codes = Callable[..., list[str]]

KNOW = (
    "quarter notes, half notes, sixteenth notes, hammer-on, pull-off, minor pentatonic scale,"
    " string crossing, string skip, eighth notes, rests, position shift"
)


def fast(tempo: str, notes: str = "5-7-5-7-5-7-5-7-5") -> str:
    return f"""\
```exercise fast
tempo: {tempo}
rhythm: s s s s s s s s h
tab: |
  e|-------------------|
  B|-------------------|
  G|-{notes}-|
  D|-------------------|
  A|-------------------|
  E|-------------------|
```
"""


def test_picking_stops_at_fourteen_strokes_a_second(codes: Codes) -> None:
    # Sixteenths: four to a beat, so 14 a second is 210 beats a minute. 7 double strokes a second is the upper
    # end of 5 to 7 repeated movements a second (Fujii and others 2009).
    assert codes(fast("60 to 210"), know=KNOW) == []
    assert codes(fast("60 to 211"), know=KNOW) == ["tempo-beyond-hands"]


def test_a_hammering_finger_stops_at_seven_a_second(checked: Callable[..., Checked]) -> None:
    slurred = "5h7-5h7-5h7-5h7-5"
    # Every other sixteenth is hammered by the same finger: 7 a second is 210 beats a minute.
    assert not checked(fast("60 to 210", slurred), know=KNOW).findings
    (found,) = checked(fast("60 to 230", slurred), know=KNOW).findings

    assert found.code == "tempo-beyond-hands"
    assert "finger" in found.message


def test_a_single_quick_ornament_is_no_run(codes: Codes) -> None:
    ornament = (
        fast("60 to 240")
        .replace("s s s s s s s s h", "q s s h e")
        .replace("5-7-5-7-5-7-5-7-5", "5-7-5-7-5--------")
    )

    assert "tempo-beyond-hands" not in codes(ornament, know=KNOW)


STRETCH = """\
```exercise wide
tempo: 60
rhythm: q q h
tab: |
  e|-----------|
  B|-----------|
  G|-----------|
  D|-----------|
  A|-{low}h{high}---{low}---|
  E|-----------|
```
"""


def test_a_stretch_no_hand_has_is_an_error(checked: Callable[..., Checked]) -> None:
    found = checked(STRETCH.format(low=1, high=9), know=KNOW).findings

    assert any(each.severity is Severity.ERROR and "mm" in each.message for each in found)


TOGETHER = "half notes, two notes at once, string crossing"
APART = """\
```exercise apart
tempo: 60
rhythm: h h
{fingers}tab: |
  e|-------|
  B|-------|
  G|-1---1-|
  D|-9---9-|
  A|-------|
  E|-------|
```
"""


def test_notes_too_far_apart_are_a_spread_and_not_crossed_fingers(checked: Callable[..., Checked]) -> None:
    """648 mm, frets 1 and 9 by equal temperament: 648 (2^(-1/12) - 2^(-9/12)) = 226.3 mm."""
    found = checked(APART.format(fingers=""), know=TOGETHER).findings

    assert {each.code for each in found} == {"beyond-reach"}
    assert all("226 mm" in each.message for each in found)


def test_fingers_that_the_teacher_crossed_are_named(codes: Codes) -> None:
    assert set(codes(APART.format(fingers="fingers: 14 14\n"), know=TOGETHER)) == {"fingers-crossed"}


def test_the_same_stretch_higher_up_the_neck_is_playable(codes: Codes) -> None:
    # Five frets are 118 mm from the first fret of a 648 mm neck and 63 mm from the twelfth.
    higher = STRETCH.format(low=12, high=16).replace("---|\n  E", "|\n  E")

    assert codes(higher, know=KNOW) == []


SHAPES = """\
```exercise whole
scale: A minor pentatonic
position: 5
path: up
notes: eighths
tempo: 60
```

```exercise gap
scale: A minor pentatonic
position: 5
strings: {strings}
path: up
notes: eighths
tempo: 60
```
"""


def test_a_string_left_out_of_the_middle_is_named(checked: Callable[..., Checked]) -> None:
    found = checked(SHAPES.format(strings="6, 5, 3, 2, 1"), know=KNOW).findings

    assert [each.code for each in found] == ["string-left-out"]
    assert "string 4" in found[0].message


def test_fewer_strings_at_the_edge_are_a_choice(codes: Codes) -> None:
    assert codes(SHAPES.format(strings="3 to 1"), know=KNOW) == []


TABBED = """

```exercise tabbed
scale: A minor pentatonic
{position}tempo: 60
rhythm: e e e e e e e e | e e h.
tab: |
  e|-----------------|-5h8-5-|
  B|-------------5h8-|-------|
  G|---------5h7-----|-------|
  D|-----------------|-------|
  A|-----5h7---------|-------|
  E|-5h8-------------|-------|
```
"""


@pytest.mark.parametrize("position", ["", "position: 5\n"])
def test_a_string_forgotten_in_a_tab_is_named(checked: Callable[..., Checked], position: str) -> None:
    lesson = SHAPES.split("\n\n", maxsplit=1)[0] + TABBED.format(position=position)
    found = checked(lesson, know=f"{KNOW}, dotted notes").findings

    assert [(each.code, each.exercise) for each in found] == [("string-left-out", "01-example/tabbed")]
    assert "string 4" in found[0].message
    assert "'Whole' plays" in found[0].message


def test_a_tab_that_leaves_the_shape_has_none_to_leave_gaps_in(codes: Codes) -> None:
    lesson = SHAPES.split("\n\n", maxsplit=1)[0] + TABBED.format(position="").replace("5h8-5-|", "5h8-3-|")

    assert "string-left-out" not in codes(lesson, know=f"{KNOW}, dotted notes")


def test_a_lesson_on_string_skips_leaves_strings_out_on_purpose(codes: Codes) -> None:
    head = "---\ntitle: Skips\ngoal: Skip.\nteaches: string skips\n---\n\n"

    assert "string-left-out" not in codes(head + SHAPES.format(strings="6, 5, 3, 2, 1"), know=KNOW)
