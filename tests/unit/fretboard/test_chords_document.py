"""docs/chords.md says what the code does: its terms, its prices, its symbols, its examples."""

import re
from dataclasses import fields
from pathlib import Path

import pytest

from fretwright.base.errors import NotationError
from fretwright.fretboard import voicing_grips, voicing_sound
from fretwright.fretboard.voicing import Ease
from fretwright.theory import chord_names
from fretwright.theory.chord import Chord

TEXT = (Path(__file__).parents[3] / "docs" / "chords.md").read_text(encoding="utf-8")
TERMS = dict(re.findall(r"^\| `([a-z_]+)` \| (.+) \|$", TEXT, re.MULTILINE))
SYMBOLS = re.findall(
    r"`(C[^` ]*)`", "".join(line for line in TEXT.splitlines(keepends=True) if re.match(r"\| [a-z]", line))
)


def numbers(text: str) -> list[float]:
    return [float(number) for number in re.findall(r"\d+(?:\.\d+)?", text)]


def test_every_term_is_explained_and_no_other() -> None:
    assert set(TERMS) == {field.name for field in fields(Ease)}


@pytest.mark.parametrize(
    ("term", "prices"),
    [
        ("fingers", [voicing_grips.FINGER_MM]),
        ("barre", [voicing_grips.BARRE_MM, voicing_grips.BARRE_STRING_MM]),
        ("bend", [voicing_grips._BEND_MM]),
        ("order", [voicing_grips._ORDER_MM]),
        ("hover", [voicing_grips._HOVER_MM]),
        ("position", [voicing_grips.POSITION_MM]),
        ("weak_finger", list(voicing_grips._WEAK_MM[3:])),
        (
            "silent",
            [
                voicing_sound.SILENT_BELOW_MM,
                voicing_sound.SILENT_FURTHER_BELOW_MM,
                voicing_sound.SILENT_ABOVE_MM,
                voicing_sound.SILENT_INSIDE_MM,
            ],
        ),
        ("unison", [voicing_sound.UNISON_MM]),
        ("omitted", [voicing_sound.OMITTED_MM]),
    ],
)
def test_the_prices_are_those_of_the_code(term: str, prices: list[float]) -> None:
    assert numbers(TERMS[term]) == prices


def test_the_points_of_names_are_those_of_the_code() -> None:
    told = numbers(TEXT.split("## Names")[1].split("C E G A")[0])
    assert told == [
        chord_names._INVERSION,
        chord_names._HIGHER_INVERSION,
        chord_names._FOREIGN_BASS,
        chord_names._LEFT_OUT,
        chord_names._UNUSUAL,
    ]


def test_every_symbol_of_the_table_is_understood() -> None:
    assert len(SYMBOLS) > 50
    for symbol in SYMBOLS:
        Chord.parse(symbol)


@pytest.mark.parametrize("symbol", ["C2", "C4", "C7alt"])
def test_what_the_document_calls_ambiguous_is_refused(symbol: str) -> None:
    assert f"`{symbol}`" in TEXT
    with pytest.raises(NotationError, match="two ways"):
        Chord.parse(symbol)
