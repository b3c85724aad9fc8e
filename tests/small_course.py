"""A small course for the tests of products: every kind of block, in two lessons of an invented teacher."""

from pathlib import Path
from typing import Final

from fretwright.course.model import Course, Exercise
from fretwright.course.reader import read_course
from fretwright.engrave.diagram import fretboard_diagram
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.walkthrough import walk_through
from fretwright.fingering.finger import finger
from fretwright.publish.material import Download, ExerciseMaterial, Rung
from fretwright.publish.sound_script import AUDIO_SUFFIX, sound_script
from fretwright.sound.files import encode_audio
from fretwright.sound.render import render

_COURSE: Final = """\
title: Lines for a lighthouse & its keeper
teacher: Ottoline <Quay>
about: >
  Forty steps up, *one lamp*, and a guitar that nobody plays. This is for whoever is on watch.
language: en
tuning: standard
scale length: 648 mm
frets: 22
days between lessons: 3
lessons:
  - 01-stairs
  - 02-lamp
"""

_STAIRS: Final = """\
---
title: The stairs
goal: Walk up and down the shape without a look at the hand.
teaches:
  - minor pentatonic scale
---

## Why stairs

A line of notes is a flight of stairs. See [the lamp](02-lamp.md), [a table](../tables/steps.pdf) and
![the spiral stair from above](../pictures/stairs.png).

```exercise up-and-back
title: Up and back
scale: C minor pentatonic
position: 8
strings: 3 to 1
path: up, down
notes: eighths
tempo: 100 to 112
remark: Say each string *aloud*.
```

It's worth the time.

```exercise slurred
title: Slurred & sung
tempo: 120 to 140
chords: Cm | Fm
rhythm: e e q q rq | e e e e h
tab: |
  e|-------------|------------|
  B|-8h11-8------|------8p6-8-|
  G|--------10---|-8h10-------|
  D|-------------|------------|
  A|-------------|------------|
  E|-------------|------------|
```
"""

_LAMP: Final = """\
---
title: The lamp
goal: Play one line to the end and let it ring.
teaches:
  - quarter notes
needs:
  - 01-stairs
---

One line, and then quiet.

```exercise last-line
title: The last line
tempo: 90
rhythm: q q q q | w
tab: |
  e|---------|----|
  B|---------|----|
  G|-5-6-7-8-|-5--|
  D|---------|----|
  A|---------|----|
  E|---------|----|
```
"""


def small_course(folder: Path, *, language: str = "en") -> Course:
    """Write the course into an empty folder and read it; nothing in it is a mistake."""
    (folder / "lessons").mkdir(parents=True)
    (folder / "course.yaml").write_text(
        _COURSE.replace("language: en", f"language: {language}"), encoding="utf-8"
    )
    for name, text in (("01-stairs", _STAIRS), ("02-lamp", _LAMP)):
        (folder / "lessons" / f"{name}.md").write_text(text, encoding="utf-8")
    reading = read_course(folder)
    assert reading.findings == (), reading.findings
    return reading.course


def material_of(exercise: Exercise) -> ExerciseMaterial:
    """What a build would hand over for an exercise; its sound files are named and not made."""
    score = finger(exercise.score).score
    words = walk_through(score)
    plates = {
        name: engrave(
            score,
            PlateStyle(width_mm=width_mm),
            title=exercise.title,
            description=words.summary,
            id_prefix=f"{exercise.id}-{name}",
        )
        for name, width_mm in (("wide", 170.0), ("narrow", 84.0))
    }
    return ExerciseMaterial(
        exercise=exercise,
        score=score,
        wide=plates["wide"],
        narrow=plates["narrow"],
        diagram=fretboard_diagram(exercise.shape or score, id_prefix=f"{exercise.id}-neck"),
        walk_through=words,
        rungs=tuple(Rung(bpm, *_sound_paths(exercise, bpm)) for bpm in exercise.ladder.rungs),
        downloads=(Download("The plate (SVG)", f"plates/{exercise.name}.svg"),),
    )


def materials_of(course: Course) -> dict[str, ExerciseMaterial]:
    """Material for every exercise of a course."""
    return {exercise.name: material_of(exercise) for exercise in course.exercises}


def sound_files(material: ExerciseMaterial) -> dict[str, bytes]:
    """The sound files that the material names."""
    files: dict[str, bytes] = {}
    name = material.exercise.name
    for rung in material.rungs:
        sound = render(material.score, rung.bpm)
        opus = encode_audio(sound, AUDIO_SUFFIX)
        files[rung.script] = sound_script(name, rung.bpm, material.score, sound, opus)
        files[rung.audio] = encode_audio(sound, ".m4a")
    return files


def _sound_paths(exercise: Exercise, bpm: int) -> tuple[str, str]:
    return f"sound/{exercise.name}-{bpm}.js", f"sound/{exercise.name}-{bpm}.m4a"
