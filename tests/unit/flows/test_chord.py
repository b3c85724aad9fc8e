"""What the command ``chord`` shows: a table, data after its schema, a picture."""

import json
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pytest

from fretwright.base.errors import FretboardError, FretwrightError, NotationError
from fretwright.flows.chord import chord_json, chord_table, draw, find, heading

SCHEMA = json.loads(
    (Path(__file__).parents[3] / "docs" / "schemas" / "chord.schema.json").read_text(encoding="utf-8")
)


def test_a_chord_is_listed_from_the_easiest_on() -> None:
    lines = chord_table(find("Bm", "standard", capo=0, count=3)).splitlines()
    assert lines[0] == "Bm, B minor: B D F# (1 b3 5)"
    assert lines[1].split()[:3] == ["frets", "fingers", "or"]
    assert lines[2].split()[:2] == ["x24432", "x13421"]
    assert "barre 15" in lines[2]
    costs = [int(line[lines[1].index("cost") :].split()[0]) for line in lines[2:]]
    assert costs == sorted(costs)
    assert len(costs) == 3


@pytest.mark.parametrize(
    ("sounding", "capo", "held"), [("D", 2, "C"), ("Bm", 2, "Am"), ("C#m7", 4, "Am7"), ("D/F#", 2, "C/E")]
)
def test_behind_a_capo_the_table_says_what_the_hand_does(sounding: str, capo: int, held: str) -> None:
    shown = find(sounding, "standard", capo=capo, count=1)
    assert heading(shown).endswith(f"behind the capo it is held like {held}")
    plain = find(held, "standard", capo=0, count=1)
    assert shown.voicings[0].frets == plain.voicings[0].frets


def test_frets_are_named_with_reasons() -> None:
    shown = find("xx0010", "standard", capo=0, count=2)
    table = chord_table(shown)
    assert str(shown.chord) == "C/D"
    assert "C/D     the bass D is no note of C" in table
    assert len(shown.names) == 2
    assert find("000232", "drop D", capo=0, count=1).chord.symbol == "D"


@pytest.mark.parametrize("asked", ["Bm", "x32010", "C13", "8-10-10-9-8-8"])
def test_the_data_keep_to_their_schema(asked: str) -> None:
    data = chord_json(find(asked, "standard", capo=0, count=5))
    jsonschema.validate(data, SCHEMA)
    assert json.loads(json.dumps(data)) == data
    for voicing in data["voicings"]:
        assert voicing["cost"] == pytest.approx(sum(voicing["terms"].values()), abs=0.6)


def test_the_data_hold_what_is_held() -> None:
    data = chord_json(find("C", "standard", capo=0, count=1))
    assert (data["notes"], data["degrees"], data["bass"]) == (["C", "E", "G"], ["1", "3", "5"], "C")
    (voicing,) = data["voicings"]
    assert [note["midi"] for note in voicing["notes"]] == [48, 52, 55, 60, 64]
    assert [note["finger"] for note in voicing["notes"]] == [3, 2, 0, 1, 0]


def test_the_picture_shows_every_voicing_and_is_the_same_twice() -> None:
    shown = find("Bm", "standard", capo=0, count=5)
    root = ET.fromstring(draw(shown))  # noqa: S314 - our own output
    assert len(root.findall("{http://www.w3.org/2000/svg}svg")) == 5
    assert draw(shown) == draw(find("Bm", "standard", capo=0, count=5))


@pytest.mark.parametrize(
    ("asked", "error"), [("Hm", NotationError), ("x123", FretboardError), ("xx012x", NotationError)]
)
def test_what_cannot_be_shown_is_refused(asked: str, error: type[FretwrightError]) -> None:
    with pytest.raises(error):
        find(asked, "standard", capo=0, count=1)
