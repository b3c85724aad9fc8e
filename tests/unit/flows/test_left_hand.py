"""Pictures for left-handed players: all of them are mirrored, and nothing else changes."""

from pathlib import Path

import pytest

from fretwright.check.check import Checked
from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import PlateStyle
from fretwright.flows.drawing import DrawingJob, picture_of_hand
from fretwright.flows.reading import check_course
from fretwright.publish.tuning import tuning_taught
from plate_reading import hull, ink

LESSON = """---
title: A
goal: B
---
```tuning in-tune
```

```exercise strummed
chords: C | G
strum: d d u d
tempo: 60
```

```exercise shape
scale: A minor pentatonic
position: 5
notes: eighths
tempo: 60
```
"""


def write(folder: Path, hand: str = "") -> Path:
    (folder / "lessons").mkdir()
    (folder / "course.yaml").write_text(f"title: A\nteacher: B\n{hand}", encoding="utf-8")
    (folder / "lessons" / "01-a.md").write_text(LESSON, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory) -> tuple[Checked, Checked]:
    """The same course for right and for left hands."""
    right = check_course(write(tmp_path_factory.mktemp("right")))
    left = check_course(write(tmp_path_factory.mktemp("left"), "hand: left\n"))
    return right, left


def plate(checked: Checked, exercise: str) -> Plate:
    return engrave(checked.score_of(checked.course.exercise(f"01-a/{exercise}")))


def test_the_diagrams_over_the_staff_are_mirrored_and_the_music_is_not(both: tuple[Checked, Checked]) -> None:
    right, left = (plate(checked, "strummed") for checked in both)
    assert right.boxes == left.boxes
    dots = [sorted(hull(each) for each in ink(drawn, "diagram-dot")) for drawn in (right, left)]
    wires = [sorted(hull(each) for each in ink(drawn, "diagram")) for drawn in (right, left)]
    edges = [(min(box.left for box in each), max(box.right for box in each)) for each in wires]
    assert edges[0] == pytest.approx(edges[1])
    assert dots[0] != dots[1]
    # C is held at strings 5, 4 and 2, frets 3, 2 and 1: the lowest dot is the leftmost of the first diagram
    first = [min(each, key=lambda box: box.left) for each in dots]
    last = [max(each[:3], key=lambda box: box.left) for each in dots]
    assert first[0].top > last[0].top
    assert first[1].top < last[1].top


def test_a_style_may_say_it_against_the_neck(both: tuple[Checked, Checked]) -> None:
    right, left = (checked.score_of(checked.course.exercise("01-a/strummed")) for checked in both)
    assert engrave(right, PlateStyle(left_handed=True)).svg == engrave(left).svg
    assert engrave(left, PlateStyle(left_handed=False)).svg == engrave(right).svg


@pytest.mark.parametrize("exercise", ["strummed", "shape"])
def test_both_pictures_of_the_hand_are_there(both: tuple[Checked, Checked], exercise: str) -> None:
    for_hand = {}
    for checked in both:
        each = checked.course.exercise(f"01-a/{exercise}")
        score, shape = checked.score_of(each), each.shape
        drawn = [
            picture_of_hand(score, shape, id_prefix="neck", left_handed=hand).svg
            for hand in (None, False, True)
        ]
        for_hand[score.neck.left_handed] = drawn
        job = DrawingJob.of(each, score)
        made = job.make()
        assert made[job.picture("diagram")] != made[job.picture("mirrored")]
    assert for_hand[False][0] == for_hand[False][1] == for_hand[True][1]
    assert for_hand[True][0] == for_hand[True][2] == for_hand[False][2]
    assert for_hand[True][0] != for_hand[False][0]


def test_the_pegs_are_mirrored(both: tuple[Checked, Checked]) -> None:
    right, left = (tuning_taught(checked.course.lessons[0].tunings[0]) for checked in both)
    assert (right.other_hand, left.other_hand) == ("left", "right")
    assert "left-handed" in right.mirrored.title
    assert "left-handed" in left.pegs.title
    assert "left-handed" not in left.mirrored.title


def test_a_build_may_ask_for_the_other_hand(tmp_path: Path) -> None:
    folder = write(tmp_path, "hand: left-handed\n")
    assert check_course(folder).course.neck.left_handed
    assert not check_course(folder, left_handed=False).course.neck.left_handed


def test_what_is_no_hand_is_a_finding(tmp_path: Path) -> None:
    findings = check_course(write(tmp_path, "hand: both\n")).findings
    (found,) = [finding for finding in findings if finding.span.file == "course.yaml"]
    assert (found.code, found.span.line, found.mend[:13]) == ("bad-value", 3, "Write left or")
