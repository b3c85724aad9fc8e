"""Techniques that cannot be played, and the skills that they show.

What is playable is common practice, no source.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from fretwright.check.check import Checked
from fretwright.check.difficulty import difficulty
from fretwright.check.skills import VOCABULARY, skill_named
from fretwright.check.techniqueskills import TECHNIQUE_SKILLS

Checker = Callable[..., Checked]
KNOW = ", ".join(
    [
        *TECHNIQUE_SKILLS,
        "tap",
        "hammer-on",
        "half notes",
        "quarter notes",
        "string crossing",
        "position shift",
    ]
)


def tab(notes: str, rhythm: str = "h h", keys: str = "", string: str = "G", tempo: str = "60") -> str:
    lines = "\n".join(f"  {name}|{notes if name == string else '-' * len(notes)}|" for name in "eBGDAE")
    return f"```exercise a\ntempo: {tempo}\nrhythm: {rhythm}\n{keys}tab: |\n{lines}\n```\n"


@pytest.fixture
def codes(checked: Checker) -> Callable[..., list[str]]:
    def run(text: str) -> list[str]:
        found = checked(text, know=KNOW).findings
        return [finding.code for finding in found]

    return run


@pytest.mark.parametrize(
    ("notes", "keys"),
    [
        ("-7b9--7b11-", ""),
        ("-7b9r7-7pb9-", ""),
        ("-7tr9-t12-", ""),
        ("-<12>-5<p>-", ""),
        ("-5//7-/7-", ""),
        ("-g5h7-7~-", ""),
        ("-x-(7)-", "palm mute: all\n"),
        ("-7-9-", "let ring: all\nrake: d .\n"),
        ("-5-t12-", ""),
    ],
)
def test_what_hands_can_do_is_left_alone(codes: Callable[..., list[str]], notes: str, keys: str) -> None:
    rhythm = "h q q" if "//" in notes else "h h"
    assert codes(tab(notes, rhythm, keys)) == []


@pytest.mark.parametrize(
    ("notes", "string", "expected"),
    [
        ("-7b11-7-", "G", []),
        ("-7b11.5-7-", "G", ["bend-too-wide"]),
        ("-7b9-7-", "D", []),
        ("-7b10-7-", "D", ["bend-too-wide"]),
        ("-2b3-7-", "G", []),
        ("-2b4-7-", "G", ["bend-near-the-nut", "position-shift"]),
    ],
)
def test_a_string_gives_way_so_far(
    codes: Callable[..., list[str]], notes: str, string: str, expected: list[str]
) -> None:
    assert codes(tab(notes, string=string)) == [code for code in expected if code != "position-shift"]


def test_a_bend_that_leaves_the_scale_is_named_with_its_note(checked: Checker) -> None:
    found = checked(tab("-7b10-7b9-", keys="scale: A minor pentatonic\n"), know=f"{KNOW}, minor pentatonic")
    said = [finding.message for finding in found.findings if finding.code == "bend-out-of-scale"]
    # string 3, fret 7 is D4: three semitones up F, which A C D E G do not have; two up E, which they do
    assert said == ["String 3, fret 7 is bent to F, which A minor pentatonic does not have."]


def test_tremolo_and_trill_are_held_against_the_hands(checked: Checker) -> None:
    # 32nds at 120 quarters a minute are 16 a second, at 100 they are 13.3
    for tempo, expected in (("100", 0), ("120", 2)):
        text = tab("-7-7tr9=t-", keys="tremolo: t .\n", tempo=tempo)
        codes = [finding.code for finding in checked(text, know=KNOW).findings]
        assert codes.count("tempo-beyond-hands") == expected


@pytest.mark.parametrize(
    ("notes", "keys", "skill"),
    [
        ("-7b9-7-", "", "bend"),
        ("-7pb9-7-", "", "pre-bend"),
        ("-7b9r7-7-", "", "bend and release"),
        ("-7~-7-", "", "vibrato"),
        ("-<12>-7-", "", "natural harmonics"),
        ("-5<17>-7-", "", "artificial harmonics"),
        ("-5<p>-7-", "", "pinch harmonics"),
        ("-7tr9-7-", "", "trill"),
        ("-t12-7-", "", "tap"),
        ("-/7-7-", "", "slide"),
        ("-5//7-", "", "slide"),
        ("-g5h7-7-", "", "grace notes"),
        ("-x-7-", "", "dead notes"),
        ("-(7)-7-", "", "ghost notes"),
        ("-7-7-", "palm mute: all\n", "palm mute"),
        ("-7-7-", "let ring: all\n", "let ring"),
        ("-7-7-", "staccato: all\n", "staccato"),
        ("-7-7-", "accent: all\n", "accents"),
        ("-7-7-", "swell: all\n", "volume swell"),
        ("-7-7-", "tremolo: sixteenths\n", "tremolo picking"),
        ("-7-7-", "rake: d .\n", "rake"),
        ("-7-7-", "roll: u .\n", "rolled chords"),
        ("-7-7-", "picking hand: i m\n", "fingerpicking"),
    ],
)
def test_each_technique_is_a_skill_that_has_to_be_taught(
    checked: Checker, notes: str, keys: str, skill: str
) -> None:
    plain = checked(tab("-7-7-"))
    shown = checked(tab(notes, keys=keys))
    assert skill in shown.skills["01-example/a"] - plain.skills["01-example/a"]
    later = f"---\ntitle: B\ngoal: B\nteaches: {skill}\n---\n\n{tab(notes, keys=keys)}"
    too_early = checked(tab(notes, keys=keys), later)
    assert any(f"{skill}," in said or f"{skill} " in said for said in untaught(too_early))
    in_time = checked(later, tab(notes, keys=keys))
    assert not any(f"{skill}," in said or f" {skill} " in said for said in untaught(in_time))


def untaught(checked: Checked) -> list[str]:
    return [finding.message for finding in checked.findings if finding.code == "skill-before-taught"]


@pytest.mark.parametrize(
    ("words", "skill"),
    [("Bending", "bend"), ("palm muting", "palm mute"), ("harmonics", "natural harmonics"),
     ("trills", "trill"), ("Accents", "accents"), ("accent", "accents"), ("vibrato", "vibrato"),
     ("tapping", "tap"), ("fingerstyle", "fingerpicking"), ("dead note", "dead notes")],
)  # fmt: skip
def test_teachers_have_several_words_for_a_technique(words: str, skill: str) -> None:
    assert skill_named(words) == skill
    assert skill in VOCABULARY


def test_the_findings_document_names_every_technique() -> None:
    text = (Path(__file__).parents[3] / "docs" / "findings.md").read_text(encoding="utf-8")
    named = " ".join(text.split("**The order of teaching**")[1].split("###")[0].split())
    assert [skill for skill in TECHNIQUE_SKILLS if skill not in named] == []


def test_techniques_make_an_exercise_harder_and_say_by_how_much(checked: Checker) -> None:
    rated = difficulty(checked(tab("-7b8-7b9-7~-7-", "q q q q")).fingered["01-example/a"], 60)
    assert (rated.technique_share, rated.bend_semitones) == (0.75, 2.0)
