"""What the check says of chords, strokes and changes."""

from collections.abc import Callable

import pytest

from fretwright.check.check import Checked
from fretwright.check.chordskills import chord_skill
from fretwright.check.difficulty import difficulty, easier_first
from fretwright.check.skills import VOCABULARY, skill_named
from fretwright.score.held import hardest_change

Checker = Callable[..., Checked]

BLOCK = "```exercise a\ntempo: {tempo}\n{keys}\n```\n"


def block(*keys: str, tempo: str = "72") -> str:
    return BLOCK.format(tempo=tempo, keys="\n".join(keys))


def of_code(checked: Checked, code: str) -> list[str]:
    return [finding.message for finding in checked.findings if finding.code == code]


def test_skills_of_a_strummed_exercise(checked: Checker) -> None:
    result = checked(block("chords: G | F", "strum: d . x u d u d u"))
    (skills,) = result.skills.values()
    assert {"G chord", "F chord", "chord changes", "strumming", "muted strokes", "barre chords"} <= skills
    assert not skills & {"string crossing", "string skip", "two notes at once", "position shift"}


def test_skills_of_a_picked_exercise(checked: Checker) -> None:
    (skills,) = checked(block("chords: Am", "picking: p i m a")).skills.values()
    assert {"Am chord", "fingerpicking"} <= skills
    assert not skills & {"strumming", "chord changes", "barre chords"}


def test_a_chord_that_no_lesson_taught(checked: Checker) -> None:
    known = "quarter notes, strumming, chord changes, open strings, G"
    told = of_code(checked(block("chords: G | C", "strum: d d d d"), know=known), "skill-before-taught")
    assert told == ["'A' asks for C chord, which no lesson has taught so far."]
    both = known + ", C chord"
    assert not of_code(checked(block("chords: G | C", "strum: d d d d"), know=both), "skill-before-taught")


@pytest.mark.parametrize(
    ("words", "skill"),
    [("Am", "Am chord"), ("Am chords", "Am chord"), ("E", "E chord"), ("A minor", "Am chord"),
     ("Barre chords", "barre chords"), ("Dead notes", "dead notes"), ("chord changes", "chord changes")],
)  # fmt: skip
def test_words_for_chord_skills(words: str, skill: str) -> None:
    assert skill_named(words) == skill


def test_no_other_skill_is_taken_for_a_chord() -> None:
    assert not [name for name in VOCABULARY if chord_skill(name) or chord_skill(name.capitalize())]


@pytest.mark.parametrize(
    ("strum", "count"),
    [("d u d u d u d u", 0), ("d . d u . u d u", 0), ("d d d d", 0), ("d d d d d d d d", 0),
     ("b u b u", 2), ("d u d u", 2), ("d u u d u d d u", 4), ("d u d d u d d u d d u d", 0)],
)  # fmt: skip
def test_strokes_against_the_swing(checked: Checker, strum: str, count: int) -> None:
    """The swing: down on the beat, up in between; common practice, no source."""
    told = of_code(checked(block("chords: G", f"strum: {strum}")), "stroke-against-beat")
    more = [f", and {count - 1} more like it" in message or count == 1 for message in told]
    assert more == ([True] if count else [])


@pytest.mark.parametrize(
    ("voicing", "wrong"),
    [
        ("G 320002", "F# is no part of it"),
        ("C x3x01x", "its E never sounds"),
        ("D/F# xx0232", "its lowest note is D"),
        ("G 355433", ""),
        ("Am x02210", ""),
        ("C 332010", ""),
    ],
)
def test_a_voicing_that_is_another_chord(checked: Checker, voicing: str, wrong: str) -> None:
    name = voicing.partition(" ")[0]
    told = of_code(
        checked(block(f"chords: {name}", f"voicings: {voicing}", "strum: d d d d")),
        "voicing-is-another-chord",
    )
    assert [wrong in message for message in told] == ([True] if wrong else [])


def test_the_hardest_change_counts_for_difficulty(checked: Checker) -> None:
    strum = "strum: d d d d"
    easy = block("chords: E5 | A5", strum).replace("exercise a", "exercise easy")
    hard = block("chords: Bm | E | A", strum).replace("exercise a", "exercise hard")
    result = checked(hard + "\n" + easy)
    rated = {name: difficulty(one, 72) for name, one in result.fingered.items()}
    named = {name.partition("/")[2]: one for name, one in rated.items()}
    assert named["easy"].change_mm < 30 < named["hard"].change_mm
    hardest = hardest_change(result.fingered["01-example/hard"].score)
    assert hardest is not None
    assert (str(hardest.before.chord), str(hardest.after.chord)) == ("Bm", "E")
    (_, last) = easier_first(named)
    assert last.name == "hard"
    assert "harder changes" in last.reason


def test_a_change_within_a_sixteenth(checked: Checker) -> None:
    strum = f"strum: {' '.join(['d', 'u'] * 8)}"
    fast = block("chords: E | C#m", strum, tempo="60 to 150")
    assert len(of_code(checked(fast), "change-beyond-hands")) == 1
    assert "E to C#m" in of_code(checked(fast), "change-beyond-hands")[0]
    assert not of_code(checked(block("chords: E | C#m", strum, tempo="45")), "change-beyond-hands")
    with_time = block("chords: E | C#m", f"strum: {' '.join(['d'] * 3 + ['.'])}", tempo="60 to 150")
    assert not of_code(checked(with_time), "change-beyond-hands")
