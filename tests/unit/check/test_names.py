"""Names against notes."""

from collections.abc import Callable

import pytest

from fretwright.base.findings import Finding
from fretwright.check.check import Checked

Codes = Callable[..., list[str]]

KNOW = (
    "quarter notes, half notes, string crossing, string skip, position shift,"
    " blues scale, minor pentatonic scale, dorian scale"
)


def lesson(head: str, g: str = "-----5-7-", d: str = "-5-7-----") -> str:
    return f"""\
```exercise named
{head}
tempo: 60
rhythm: q q q q
tab: |
  e|---------|
  B|---------|
  G|{g}|
  D|{d}|
  A|---------|
  E|---------|
```
"""


def test_a_blues_without_its_flat_fifth_is_named(checked: Callable[..., Checked]) -> None:
    found = checked(lesson("scale: A blues"), know=KNOW).findings

    assert [finding.code for finding in found] == ["telling-note-missing"]
    assert "flat fifth, Eb, never sounds" in found[0].message
    assert "A minor pentatonic" in found[0].message
    assert (found[0].span.line, found[0].span.text) == (7, "A blues")


def test_a_blues_with_its_flat_fifth_is_left_alone(codes: Codes) -> None:
    # D4 fret 7 is A, G fret 8 is the flat fifth, Eb.
    assert codes(lesson("scale: A blues", g="-----8-5-"), know=KNOW) == []


def test_a_title_makes_the_same_claim(codes: Codes) -> None:
    head = "title: A little blues\nscale: A minor pentatonic"

    assert codes(lesson(head), know=KNOW) == ["telling-note-missing"]


@pytest.mark.parametrize("title", ["Bluesy morning", "The dorianist", "Up and back"])
def test_a_word_that_only_looks_alike_claims_nothing(codes: Codes, title: str) -> None:
    assert codes(lesson(f"title: {title}\nscale: A minor pentatonic"), know=KNOW) == []


def test_dorian_wants_its_sixth(codes: Codes) -> None:
    assert codes(lesson("scale: A dorian"), know=KNOW) == ["telling-note-missing"]
    # Fret 4 on the D string is F sharp, the sixth.
    assert codes(lesson("scale: A dorian", d="-4-7-----"), know=KNOW) == []


def test_notes_outside_the_scale_are_named_with_their_place(checked: Callable[..., Checked]) -> None:
    head = "scale: A minor pentatonic"
    found = checked(lesson(head, g="-----6-7-"), know=KNOW).findings

    assert [finding.code for finding in found] == ["note-outside-scale"]
    assert "C# on string 3, fret 6" in found[0].message


def test_a_key_that_does_not_fit_is_told_from_one_that_does(checked: Callable[..., Checked]) -> None:
    def found(key: str) -> list[Finding]:
        notes = lesson(f"key: {key}", g="-7-11-7--", d="---------").replace("q q q q", "q q h")
        return list(checked(notes, know=f"{KNOW}, half notes").findings)

    assert found("D major") == []
    assert found("G major") == []
    (wrong,) = found("C major")
    assert wrong.code == "wrong-key"
    assert "F# on string 3, fret 11" in wrong.message
    assert "D major" in wrong.mend
