"""The command ``chord`` as a shell sees it."""

import json
from pathlib import Path

from click.testing import CliRunner, Result

from fretwright.base.errors import FretwrightError
from fretwright.cli.chord import command


def run(*words: str) -> Result:
    return CliRunner().invoke(command, list(words))


def test_the_table_is_printed() -> None:
    shown = run("Bm", "--count", "2")
    assert shown.exit_code == 0, shown.output
    assert "x24432  x13421" in shown.output
    assert len(shown.output.splitlines()) == 4


def test_json_and_a_picture_come_on_request(tmp_path: Path) -> None:
    picture = tmp_path / "chord.svg"
    shown = run("A", "--tuning", "DADGAD", "--capo", "2", "--json", "--svg", str(picture))
    assert shown.exit_code == 0, shown.output
    data = json.loads(shown.output)
    assert (data["chord"], data["capo"], data["tuning"][0]) == ("A", 2, "D2")
    assert picture.read_text(encoding="utf-8").startswith("<svg")


def test_wrong_use_is_said_in_one_sentence(tmp_path: Path) -> None:
    assert isinstance(run("Hm").exception, FretwrightError)
    assert run("Bm", "--count", "0").exit_code == 2
    assert run("Bm", "--capo", "40").exit_code == 2
    assert isinstance(run("Bm", "--svg", str(tmp_path / "no" / "x.svg")).exception, FretwrightError)
