"""A moved tab: every interval is kept, and every note on its string."""

import tempfile
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from fretwright.course.model import Exercise
from fretwright.course.reader import read_course
from fretwright.theory.key import Key
from fretwright.theory.pitch import NoteName

TAB = """\
tempo: 60
key: A minor
rhythm: q q h
tab: |
  e|-----------|
  B|-----------|
  G|-14----12--|
  D|----14-----|
  A|-----------|
  E|-------12--|
"""
TONICS = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B")
"""Minor keys of up to seven accidentals."""


def both(move: str) -> tuple[Exercise, Exercise]:
    """The tab as it is written, and moved."""
    lesson = (
        f"---\ntitle: A\ngoal: B\n---\n```exercise a\n{TAB}```\n```exercise b\nfrom: a\nmove: {move}\n```\n"
    )
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "lessons").mkdir()
        (folder / "course.yaml").write_text("title: A\nteacher: B\n", encoding="utf-8")
        (folder / "lessons" / "01-a.md").write_text(lesson, encoding="utf-8")
        reading = read_course(folder)
    assert reading.findings == ()
    written, moved = reading.course.exercises
    return written, moved


@given(st.integers(-12, 8))
def test_frets_and_pitches_move_alike(frets: int) -> None:
    written, moved = both(f"{abs(frets)} frets {'down' if frets < 0 else 'up'}")

    for before, after in zip(written.score.notes, moved.score.notes, strict=True):
        assert after.string == before.string
        assert after.fret == before.fret + frets
        assert after.midi == before.midi + frets
        assert after.onset == before.onset


@given(st.sampled_from(TONICS), st.sampled_from(["", "minor"]))
def test_to_a_key_ends_in_that_key_by_the_shorter_way(tonic: str, mode: str) -> None:
    written, moved = both(f"to {tonic} {mode}".strip())

    frets = {
        after.midi - before.midi for before, after in zip(written.score.notes, moved.score.notes, strict=True)
    }
    (by,) = frets
    assert by % 12 == (NoteName.parse(tonic).pitch_class - 9) % 12
    assert -6 <= by <= 6
    assert moved.score.key == Key.parse(f"{tonic} minor")
