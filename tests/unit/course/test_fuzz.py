"""No file of a teacher's can bring the reader down or keep it busy."""

import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.course.model import Reading
from fretwright.course.reader import read_course

HEAD = "---\ntitle: A\ngoal: B\n---\n"
STARTER = Path(__file__).parents[3] / "src" / "fretwright" / "course" / "starter_files"
LESSON = (STARTER / "lessons" / "02-first-hammer-on.md").read_text(encoding="utf-8")
COURSE = (STARTER / "course.yaml").read_text(encoding="utf-8")
SIGNS = "|-0123456789hp/\\:.+ \n\n\t`~#'\"[]{}&*!%@,?>xbreqhwstGBDAE\x00\x85\u2028\ufeffé🎸"


def read(course: bytes, lesson: bytes) -> Reading:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "lessons").mkdir()
        (folder / "course.yaml").write_bytes(course)
        (folder / "lessons" / "02-first-hammer-on.md").write_bytes(lesson)
        reading = read_course(folder)
        lines: dict[str, list[str]] = {}
        for finding in reading.findings:
            span = finding.span
            if span.file not in lines:
                lines[span.file] = _lines(folder / span.file)
            assert 1 <= span.line <= len(lines[span.file])
            assert 1 <= span.column <= len(lines[span.file][span.line - 1]) + 1
            assert finding.message
            assert finding.mend
        return reading


def _lines(file: Path) -> list[str]:
    text = file.read_bytes().decode("utf-8", "replace").removeprefix("\ufeff")
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


@given(st.binary(max_size=300), st.binary(max_size=300))
def test_bytes(course: bytes, lesson: bytes) -> None:
    read(course, lesson)


@given(
    st.text(SIGNS, max_size=200),
    st.sampled_from(["", "tab: |\n  e|", "rhythm: ", "scale: ", "path: ", "from: "]),
)
def test_noise_in_a_block(noise: str, start: str) -> None:
    read(b"title: A\nteacher: B\n", f"{HEAD}```exercise a\n{start}{noise}\n```\n".encode())


@given(st.data())
@settings(max_examples=300)
def test_good_files_with_slips(data: st.DataObject) -> None:
    texts = [COURSE, LESSON]
    which = data.draw(st.integers(0, 1))
    text = texts[which]
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        gone = data.draw(st.sampled_from([0, 0, 1, 5, 60]))
        more = data.draw(st.text(SIGNS, max_size=6))
        text = text[:at] + more + text[at + gone :]
    texts[which] = text
    read(texts[0].encode(), texts[1].encode())


CHARTS = """---
title: A
goal: B
---
```chart a
key: G major
tempo: 72
chords: |
  Verse: |: G | C/E . D7 . | 1. Em :| x3 2. N.C. | Dsus4 |
strum: d . (u) dx u2 b r D
lyrics: one two- three | . four | five
band: shuffle
answer: 2 bars
```
```exercise b
from: a
picking: p i3 ma . P r
meter: 6/8
voicings: G 320003 (210003), C/E 032010
bass: alternating
written: in full
```
```exercise c
from: a
targets: thirds
position: 5
```
```exercise d
change: G to Am
tempo: 60
key: G major
keys: G, Bb
```
```tuning e
by: frets, harmonics
pegs: in a row
```
"""
CHART_SIGNS = "|:.x()duDbrpima0123456789/# \nGCDEm7sus,-"


@given(st.data())
@settings(max_examples=100, deadline=None)
def test_charts_with_slips(data: st.DataObject) -> None:
    text = CHARTS
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        gone = data.draw(st.sampled_from([0, 0, 1, 5, 60]))
        text = text[:at] + data.draw(st.text(CHART_SIGNS, max_size=8)) + text[at + gone :]
    read(b"title: A\nteacher: B\n", text.encode())


@given(
    st.text(CHART_SIGNS, max_size=120),
    st.sampled_from(
        ["chords", "strum", "picking", "voicings", "lyrics", "form", "change", "targets", "rhythm"]
    ),
)
@settings(deadline=None)
def test_noise_in_a_chart(noise: str, key: str) -> None:
    row = noise.replace("\n", "\n  ")
    read(
        b"title: A\nteacher: B\n",
        f"{HEAD}```exercise a\ntempo: 72\nchords: G | C\nstrum: d d u d\n{key}: |\n  {row}\n```\n".encode(),
    )


def test_a_chart_has_its_limits() -> None:
    """Each of these would keep the reader busy for long."""
    roots = [
        f"{root}{sign}{kind}" for root in "CDEFGAB" for sign in ("", "#", "b") for kind in ("", "m", "7")
    ]
    blocks = (
        f"chords: {' | '.join(['G'] * 500)}",
        f"chords: {' | '.join(['G'] * 390)}\nstrum: {' '.join(['d'] * 16)}",
        f"chords: {' | '.join(roots)}",
    )
    for block in blocks:
        reading = read(b"title: A\nteacher: B\n", f"{HEAD}```chart a\ntempo: 72\n{block}\n```\n".encode())
        assert [finding.code for finding in reading.findings] == ["exercise-too-long"]


DRILLS = """---
title: A
goal: B
---
```exercise a
scale: A minor pentatonic
position: 5
lowest: root
pattern: groups of 3, from every second note
loop: 3
slur: hammer-on, pull-off
pluck: first of two
late: re
notes: eighths
tempo: 60
keys: circle of fourths, same position
```
```exercise b
from: a
positions: all
```
```exercise c
key: A minor
rhythm: q q h
move: up to D minor
tempo: 60
tab: |
  e|-5-7-5-|
  B|-------|
  G|-------|
  D|-------|
  A|-------|
  E|-------|
```
```exercise d
from: c
keys: A, D, Eb
```
"""


@given(st.data())
def test_drills_with_slips(data: st.DataObject) -> None:
    text = DRILLS
    for _ in range(data.draw(st.integers(0, 3))):
        at = data.draw(st.integers(0, len(text)))
        gone = data.draw(st.sampled_from([0, 1, 1, 4, 30]))
        text = text[:at] + data.draw(st.text(SIGNS + "0123456789,", max_size=3)) + text[at + gone :]
    read(b"title: A\nteacher: B\n", text.encode())


def test_the_drills_themselves_are_sound() -> None:
    reading = read(b"title: A\nteacher: B\n", DRILLS.encode())
    assert reading.findings == ()
    assert sum(1 for _ in reading.course.exercises) == 12 + 5 + 1 + 3


TECHNIQUES = """---
title: A
goal: B
---
```exercise a
key: A minor
tempo: 60
rhythm: q e e q q | q e e h
lower rhythm: h h | .
vibrato: 5 Hz, 30 cents
palm mute: bar 2
tremolo: . s . . . . . . .
picking hand: i . m i m . . . .
tab: |
  e|-------------------|----------------|
  B|-8b10@1/3r8@1-5h7~-|-g5h7tr9=t-(x)--|
  G|-------------/7\\-x|-----t12p7----5|
  D|-------------------|------------7<19>|
  A|-------------------|----------------|
  E|-------------------|----------------|
lower tab: |
  e|----------|---|
  B|----------|---|
  G|----------|---|
  D|-<12>-----|---|
  A|------5<p>|---|
  E|----------|---|
```
"""


@given(st.data())
@settings(max_examples=100)
def test_techniques_with_slips(data: st.DataObject) -> None:
    text = TECHNIQUES
    for _ in range(data.draw(st.integers(0, 3))):
        at = data.draw(st.integers(0, len(text)))
        gone = data.draw(st.sampled_from([0, 1, 1, 4, 30]))
        text = text[:at] + data.draw(st.text(SIGNS + "@=()<>gs,;", max_size=3)) + text[at + gone :]
    read(b"title: A\nteacher: B\n", text.encode())


PRINTABLE = "abc |-0123456789hp/\\:.+\n`~#'\"[]{}&*!%@,xE"
KEY_LIKE = "abc:- \n'\"[]{}&*!%@,"


@pytest.mark.parametrize("kind", ["bytes", "prose", "keys", "tab", "fences"])
def test_a_megabyte_of_noise_ends_in_findings(rng: np.random.Generator, kind: str) -> None:
    """That it takes less than two seconds is measured in docs/course-format.md; here it must only end."""
    size = 1_000_000
    letters = {"prose": PRINTABLE, "keys": KEY_LIKE, "tab": "-5h|p7b(9)<>~g/x@t", "fences": "```exercise a\n"}
    if kind == "bytes":
        noise = rng.bytes(size)
    elif kind == "fences":
        noise = ("```exercise a\n```\n" * (size // 18)).encode()
    else:
        noise = "".join(rng.choice(list(letters[kind]), size)).encode()
    opening = {
        "keys": "```exercise a\n",
        "tab": "```exercise a\ntempo: 60\nnotes: eighths\ntab: |\n  e|",
    }.get(kind, "")
    assert read(COURSE.encode(), opening.encode() + noise).findings
