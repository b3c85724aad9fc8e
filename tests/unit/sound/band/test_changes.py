"""Chord names over bars, as a band reads them."""

from fractions import Fraction

import pytest

from charts import TWELVE_BARS, chart
from fretwright.base.errors import RenderError
from fretwright.score.meter import Meter
from fretwright.sound.band.changes import changes_of


def test_each_bar_has_its_chords_and_their_beats() -> None:
    bars = changes_of(chart(["Am . . G", ".", "C F"]), bpm=60)
    told = [[(str(each.chord), each.beat, each.beats) for each in bar.changes] for bar in bars]
    assert told == [
        [("Am", Fraction(0), Fraction(3)), ("G", Fraction(3), Fraction(1))],
        [("G", Fraction(0), Fraction(4))],
        [("C", Fraction(0), Fraction(2)), ("F", Fraction(2), Fraction(2))],
    ]
    assert [bar.start_s for bar in bars] == [0.0, 4.0, 8.0]
    assert [bar.time_s(Fraction(1, 2)) for bar in bars] == [0.5, 4.5, 8.5]


def test_repeats_are_played() -> None:
    assert len(changes_of(chart(TWELVE_BARS, repeats=3))) == 36


def test_beats_of_compound_time_are_dotted_quarters() -> None:
    first, *_ = changes_of(chart(["A7 D7"], bpm=60, meter=Meter(12, 8)))
    assert first.beats == 4
    assert first.beat_s == 1.0
    assert [each.beat for each in first.changes] == [0, 2]


def test_a_name_that_asks_for_no_chord_gives_none() -> None:
    first, second = changes_of(chart(["NC", "E7"]))
    assert first.changes[0].chord is None
    assert str(second.changes[0].chord) == "E7"


@pytest.mark.parametrize(("bars", "words"), [(["H7"], "H7"), (["."], "no chords"), (["NC"], "no chords")])
def test_what_cannot_be_played_is_said(bars: list[str], words: str) -> None:
    with pytest.raises(RenderError, match=words):
        changes_of(chart(bars))
