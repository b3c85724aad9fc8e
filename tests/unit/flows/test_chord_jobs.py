"""What a build makes of chords, charts and tuning."""

from dataclasses import replace
from pathlib import Path

import pytest

from fretwright.course.model import Course
from fretwright.course.reader import read_course
from fretwright.flows.drawing import picture_of_hand
from fretwright.flows.printing import HandoutJob, LeadSheetJob
from fretwright.flows.tuning import tone_jobs
from fretwright.fretboard.tuning import Tuning
from fretwright.publish.handout import Paper
from small_course import material_of

LESSON = """\
---
title: A
goal: B
---

```tuning t
by: frets
```

```chart c
tempo: 90
chords: Am | E7
```

```exercise line
scale: A minor pentatonic
position: 5
notes: eighths
tempo: 60
```
"""


@pytest.fixture
def course(tmp_path: Path) -> Course:
    (tmp_path / "lessons").mkdir()
    (tmp_path / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
    (tmp_path / "lessons" / "01-a.md").write_text(LESSON, encoding="utf-8")
    reading = read_course(tmp_path)
    assert reading.findings == ()
    return reading.course


def test_chords_stand_where_a_fretboard_would(course: Course) -> None:
    chart, line = course.exercise("01-a/c"), course.exercise("01-a/line")
    assert "chord" in picture_of_hand(chart.score, None, id_prefix="x").svg
    assert picture_of_hand(chart.score, None, id_prefix="x").title == "Chords of C"
    assert 'class="fretboard"' in picture_of_hand(line.score, line.shape, id_prefix="x").svg


def test_every_tone_is_sounded_once(course: Course) -> None:
    jobs = tone_jobs(course.lessons)
    assert len(jobs) == len({path for job in jobs for path in job.paths}) == 10
    assert len({job.key for job in jobs}) == 10
    (path,) = jobs[0].paths
    made = jobs[0].make()
    assert list(made) == [path]
    assert made[path][4:8] == b"ftyp"
    assert jobs[0].make() == made


def test_another_tuning_is_sounded_anew(course: Course) -> None:
    job = tone_jobs(course.lessons)[0]
    assert replace(job, tuning=Tuning.parse("DADGAD")).key != job.key


def test_a_handout_is_set_anew_when_its_tuning_changes(course: Course) -> None:
    def key(course: Course) -> str:
        return HandoutJob(course, course.lessons[0], {}, {}, Paper.A4).key

    lesson = course.lessons[0]
    low = replace(lesson.tunings[0], tuning=Tuning.parse("DADGAD"))
    blocks = tuple(low if block is lesson.tunings[0] else block for block in lesson.blocks)
    assert key(replace(course, lessons=(replace(lesson, blocks=blocks),))) != key(course)


def test_a_lead_sheet_is_printed_once(course: Course) -> None:
    chart = course.exercise("01-a/c")
    job = LeadSheetJob(course, chart, material_of(chart), Paper.A4)
    assert job.paths == ("handouts/chart-01-a-c.pdf",)
    assert job.make()[job.paths[0]].startswith(b"%PDF")
    faster = replace(chart, ladder=replace(chart.ladder, goal_bpm=120.0))
    assert replace(job, exercise=faster).key != job.key
