"""Every plate of the demo course is clean: nothing runs into anything else, at any width."""

from pathlib import Path

from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.flows.reading import check_course

DEMO = Path(__file__).parents[2] / "demo"
STYLES = (PlateStyle(), PlateStyle(width_mm=84), PlateStyle(staff=False), PlateStyle(width_mm=120))


def test_no_ink_of_the_demo_course_runs_into_other_ink() -> None:
    checked = check_course(DEMO)
    exercises = list(checked.course.exercises)
    assert len(exercises) >= 6
    for exercise in exercises:
        score = checked.fingered[exercise.name].score
        for style in STYLES:
            found = overlaps(engrave(score, style))
            assert not found, f"{exercise.name} at {style.width_mm:g} mm: {found[:3]}"
