"""``export`` and ``adopt`` as a teacher types them."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from exchange_scores import plain
from fretwright.base.errors import FretwrightError
from fretwright.cli.main import group
from fretwright.exchange.musicxml_out import write_musicxml
from musicxml_schema import schema_errors

DEMO = Path(__file__).parents[3] / "demo"
EXERCISE = "04-hammer-ons/one-pair"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(group, [str(word) for word in words])


@pytest.mark.parametrize("options", [[], ["--tab"], ["--tempo", "77"]])
def test_export_writes_valid_musicxml(options: list[str], tmp_path: Path) -> None:
    out = tmp_path / "pair.musicxml"
    assert run("export", DEMO, EXERCISE, "--out", out, *options).exit_code == 0
    assert schema_errors(out.read_bytes()) == []


def test_export_writes_midi_with_a_track_for_each_string(tmp_path: Path) -> None:
    out = tmp_path / "pair.mid"
    assert run("export", DEMO, EXERCISE, "--out", out, "--strings", "--ids").exit_code == 0
    data = out.read_bytes()
    assert data.startswith(b"MThd")
    assert b"string 6 (E2)" in data
    assert b"b1t0s" in data


def test_what_was_exported_is_adopted_again(tmp_path: Path) -> None:
    out = tmp_path / "pair.musicxml"
    run("export", DEMO, EXERCISE, "--out", out)
    result = run("adopt", out)
    assert result.exit_code == 0
    assert result.output.startswith("```exercise one-pair\n")
    assert result.output.endswith("```\n")
    assert "h" in result.output.split("tab: |")[1]


def test_adopt_takes_some_bars_moves_them_and_lays_them_on_another_neck(tmp_path: Path) -> None:
    file = tmp_path / "plain.musicxml"
    data = write_musicxml(plain()).decode()
    technical = ("<string>", "<fret>")
    lines = [line for line in data.splitlines() if not line.strip().startswith(technical)]
    start = next(i for i, line in enumerate(lines) if "<staff-details" in line)
    end = next(i for i, line in enumerate(lines) if "</staff-details" in line)
    file.write_text("\n".join([*lines[:start], *lines[end + 1 :]]), encoding="utf-8")
    result = run("adopt", file, "--bars", "1", "--octaves", "-1", "--tuning", "bass")
    assert result.exit_code == 0, result.output
    assert "tuning: E1 A1 D2 G2" in result.output


@pytest.mark.parametrize("bars", ["8-1", "all", "1-2-3"])
def test_bars_that_are_none_are_wrong_use(bars: str, tmp_path: Path) -> None:
    file = tmp_path / "plain.musicxml"
    file.write_bytes(write_musicxml(plain()))
    assert run("adopt", file, "--bars", bars).exit_code == 2


def test_a_hostile_file_is_refused_in_one_sentence(tmp_path: Path) -> None:
    file = tmp_path / "bad.musicxml"
    file.write_text('<!DOCTYPE s [<!ENTITY a "b">]><score-partwise>&a;</score-partwise>', encoding="utf-8")
    result = run("adopt", file)
    assert isinstance(result.exception, FretwrightError)
    assert "defines text of its own" in str(result.exception)


def test_an_unknown_exercise_and_a_folder_that_is_not_there_are_said(tmp_path: Path) -> None:
    assert isinstance(
        run("export", DEMO, "none/such", "--out", tmp_path / "a.mid").exception, FretwrightError
    )
    missing = run("export", DEMO, EXERCISE, "--out", tmp_path / "no" / "a.mid")
    assert isinstance(missing.exception, FretwrightError)
    assert "cannot be written" in str(missing.exception)
