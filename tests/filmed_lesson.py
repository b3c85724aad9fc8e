"""A small lesson and the sound track of its filming."""

from pathlib import Path
from typing import Final

from fretwright.flows.reading import check_course
from lesson_tracks import LessonTrack

LESSON: Final = "01-one"
_TEXT: Final = """\
---
title: One
goal: Play.
---

```exercise climb
scale: A minor pentatonic
position: 5
strings: 4 to 2
path: up
notes: eighths
tempo: 90
```

```exercise leaps
scale: A minor pentatonic
tempo: 80
rhythm: e e e e e e q
tab: |
  e|---------------|
  B|-----8-5-----5-|
  G|-5-7-----7-5---|
  D|---------------|
  A|---------------|
  E|---------------|
```
"""


def write_lesson(folder: Path) -> Path:
    """A course of one lesson with two exercises, ``climb`` and ``leaps``."""
    (folder / "lessons").mkdir(parents=True)
    (folder / "course.yaml").write_text("title: Small\nteacher: Nobody\n", encoding="utf-8")
    (folder / "lessons" / f"{LESSON}.md").write_text(_TEXT, encoding="utf-8")
    return folder


def track_of(folder: Path) -> LessonTrack:
    """What is heard while the lesson is filmed: talk, the one, talk, and the other."""
    checked = check_course(folder)
    climb, leaps = (
        checked.score_of(checked.course.exercise(f"{LESSON}/{name}")) for name in ("climb", "leaps")
    )
    track = LessonTrack().pause(0.4).talk(2.0).pause(0.5).play("climb", climb, 80.0)
    return track.talk(1.5).pause(0.4).play("leaps", leaps, 110.0).pause(0.3)
