"""What is written is MusicXML 4.0 by the standard's own schema (W3C Music Notation Community Group, 2021)."""

import pytest
from hypothesis import HealthCheck, given, settings

from exchange_scores import chance_scores, of_tuning, plain, rich
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.score import Score
from musicxml_schema import schema_errors
from strategies import technique_scores


@settings(max_examples=40)
@given(score=chance_scores())
def test_any_score_is_valid(score: Score) -> None:
    assert schema_errors(write_musicxml(score)) == []
    assert schema_errors(write_musicxml(score, tab_staff=True)) == []


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(score=technique_scores())
def test_every_technique_is_valid(score: Score) -> None:
    assert schema_errors(write_musicxml(score)) == []
    assert schema_errors(write_musicxml(score, tab_staff=True)) == []


@pytest.mark.parametrize("tab_staff", [False, True])
@pytest.mark.parametrize("score", [plain(), rich()], ids=["plain", "rich"])
def test_a_score_with_everything_is_valid(score: Score, tab_staff: bool) -> None:
    assert schema_errors(write_musicxml(score, tab_staff=tab_staff)) == []


@pytest.mark.parametrize("tuning", TUNINGS)
def test_every_named_tuning_is_valid(tuning: str) -> None:
    assert schema_errors(write_musicxml(of_tuning(tuning), tab_staff=True)) == []


def test_the_schema_would_notice_a_mistake() -> None:
    broken = write_musicxml(plain()).replace(b"<fret>", b"<frett>").replace(b"</fret>", b"</frett>")
    assert any("frett" in error for error in schema_errors(broken))


def test_the_same_score_gives_the_same_bytes() -> None:
    assert write_musicxml(rich()) == write_musicxml(rich())
