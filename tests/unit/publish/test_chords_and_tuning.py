"""Chords, charts and tuning on pages and in handouts."""

import html
import re
from dataclasses import replace

import pytest

from fretwright.course.model import Course
from fretwright.course.reader import read_course
from fretwright.engrave.chord_sheet import chords_picture
from fretwright.fingering.finger import finger
from fretwright.publish.chords import lesson_chords
from fretwright.publish.handout import Paper, handout
from fretwright.publish.lead_sheet import facts, lead_sheet
from fretwright.publish.material import ExerciseMaterial
from fretwright.publish.site import lesson_page
from fretwright.publish.soloing import over_chart
from fretwright.publish.tuning import OUT_OF_TUNE_CENTS, tones_of, tuning_taught
from fretwright.score.held import voicings_of
from small_course import material_of

LESSON = """\
---
title: Two chords by the weir
goal: Change between two chords without a pause.
---

```tuning ready
remark: Every day, *before* the first note.
```

```exercise change
title: From one to the other
change: G to C
tempo: 60
```

```chart weir
title: The weir
key: G major
form: quick-change blues
tempo: 80 to 90
band: shuffle
```

```exercise line
scale: A minor pentatonic
position: 5
notes: eighths
tempo: 60
```
"""


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Course:
    folder = tmp_path_factory.mktemp("chords") / "course"
    (folder / "lessons").mkdir(parents=True)
    (folder / "course.yaml").write_text("title: Weir\nteacher: A. Teacher\n", encoding="utf-8")
    (folder / "lessons" / "01-two.md").write_text(LESSON, encoding="utf-8")
    reading = read_course(folder)
    assert reading.findings == ()
    return reading.course


@pytest.fixture(scope="module")
def materials(course: Course) -> dict[str, ExerciseMaterial]:
    return {exercise.name: material_of(exercise) for exercise in course.exercises}


@pytest.fixture(scope="module")
def page(course: Course, materials: dict[str, ExerciseMaterial]) -> str:
    return html.unescape(lesson_page(course, course.lessons[0], materials, "1").decode())


def test_the_chords_of_a_lesson_stand_on_top(page: str) -> None:
    section = page[page.index('class="lesson-chords"') :]
    section = section[: section.index("</section>")]
    assert page.index("lesson-chords") < page.index('class="exercise"')
    names = re.findall(r"<dt>(.*?)</dt>", section)
    assert names == ["G major", "C major", "G seven", "C seven", "D seven"]
    assert section.count('class="chord"') == 2 * len(names)
    assert "For left-handed players" in section
    assert "Numbers on dots are fingers" in section


def test_no_id_stands_twice(page: str) -> None:
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_changes_and_scales_are_told(page: str) -> None:
    assert "The changes, the hardest first" in page
    assert "<dt>From G to C</dt>" in page
    assert "Over all of it: G blues: G B♭ C D♭ D F; G minor pentatonic: G B♭ C D F." in page
    assert "D mixolydian: D E F♯ G A B C" in page
    assert page.count("To play over it") == 1


def test_a_part_is_picked_by_the_chord_that_is_struck(page: str) -> None:
    assert '"words":"note 1: G, down stroke"' in page
    assert '"words":"note 2: G7, down stroke"' in page


def test_tuning_shows_pegs_ways_and_sounds(page: str) -> None:
    assert 'id="tune-ready"' in page
    assert "By harmonics" in page
    assert "The string is then 1.96 cents flat." in page
    sounds = re.findall(r'<audio[^>]* src="([^"]+ready-[^"]+)"', page)
    assert len(sounds) == len(set(sounds)) == 6 + 2 * 5 + 2 * 5
    assert "<em>before</em>" in page


def test_every_tone_has_its_place(course: Course) -> None:
    (block,) = course.lessons[0].tunings
    tones = tones_of(block)
    assert len({tone.path for tone in tones}) == len(tones) == 26
    assert {tone.off_cents for tone in tones if "frets" in tone.path} == {0.0, OUT_OF_TUNE_CENTS}
    still = [tone.off_cents for tone in tones if tone.path.endswith("still.m4a")]
    assert still == pytest.approx([-1.955, -1.955, -1.955, 1.955, -1.955], abs=1e-3)


def test_what_beats_are_is_said_once(course: Course) -> None:
    (block,) = course.lessons[0].tunings
    said = [way for way in tuning_taught(block).ways if "they beat" in way.before]
    assert [way.heading for way in said] == ["By frets, string after string"]


def test_a_lesson_without_chords_has_no_chords_on_top(
    course: Course, materials: dict[str, ExerciseMaterial]
) -> None:
    line = {name: made for name, made in materials.items() if name.endswith("line")}
    assert lesson_chords(course.lessons[0], line) is None
    assert over_chart(next(iter(line.values())).score) is None


def test_the_handout_is_set(course: Course, materials: dict[str, ExerciseMaterial]) -> None:
    pdf = handout(course, course.lessons[0], materials)
    assert pdf.startswith(b"%PDF")
    assert pdf == handout(course, course.lessons[0], materials)


def test_a_lead_sheet_is_one_page(course: Course, materials: dict[str, ExerciseMaterial]) -> None:
    chart = materials["01-two/weir"]
    pdf = lead_sheet(course, chart.exercise, chart)
    assert re.search(rb"/Count 1\b", pdf)
    assert pdf == lead_sheet(course, chart.exercise, chart)
    assert facts(chart.exercise, chart) == "G major, 80 to 90 beats a minute, shuffle"


def test_a_long_chart_is_made_to_fit(course: Course, materials: dict[str, ExerciseMaterial]) -> None:
    made = materials["01-two/weir"]
    long = replace(made, wide=replace(made.wide, height_mm=4 * made.wide.height_mm))
    for paper in Paper:
        assert re.search(rb"/Count 1\b", lead_sheet(course, made.exercise, long, paper=paper))


def test_the_picture_of_an_exercise_shows_its_chords(course: Course) -> None:
    exercise = course.exercise("01-two/change")
    score = finger(exercise.score).score
    picture = chords_picture(voicings_of(score), title="Chords", id_prefix="x")
    assert picture.description.startswith("G: Sixth string fret three")


def test_a_chart_is_kept_with_its_band(course: Course) -> None:
    chart = course.exercise("01-two/weir")
    assert (chart.is_chart, chart.band) == (True, "shuffle")
    assert not course.exercise("01-two/change").is_chart
