"""What the drummer plays."""

from fractions import Fraction

import pytest

from charts import TWELVE_BARS, chart
from fretwright.score.meter import Meter
from fretwright.sound.band.changes import changes_of
from fretwright.sound.band.drumming import drum_part
from fretwright.sound.band.feels import FEELS, Feel, Piece


@pytest.mark.parametrize("feel", FEELS.values(), ids=FEELS)
def test_backbeats_fall_on_two_and_four(feel: Feel) -> None:
    """Common practice, no source; a bossa and a ballad have a rim stroke of their own."""
    bars = changes_of(chart(TWELVE_BARS, bpm=96))
    hits = drum_part(bars, feel, 3, ends=False)
    piece = Piece.RIM if feel.name in {"bossa", "ballad"} else Piece.SNARE
    beats = (0, 3) if feel.name == "bossa" else (2,) if feel.name == "ballad" else (1, 3)
    for bar in bars[:3]:
        for beat in beats:
            at = bar.time_s(Fraction(beat))
            assert any(hit.piece is piece and abs(hit.time_s - at) < 0.007 for hit in hits), (
                beat,
                bar.start_s,
            )


def test_a_shuffle_has_its_offbeats_in_the_last_third() -> None:
    bars = changes_of(chart(["C"] * 3, bpm=60))
    ride = [hit.time_s for hit in drum_part(bars, FEELS["shuffle"], 0, ends=False) if hit.piece is Piece.RIDE]
    late = sorted({round(time % 1.0, 1) for time in ride})
    assert late in ([0.0, 0.7], [0.0, 0.7, 1.0])


def test_fills_come_at_the_end_of_phrases_and_differ_from_seed_to_seed() -> None:
    bars = changes_of(chart(["C"] * 16))
    toms = {Piece.LOW_TOM, Piece.HIGH_TOM}
    parts = [drum_part(bars, FEELS["straight"], seed, ends=False) for seed in range(6)]
    assert len(set(parts)) == 6
    for part in parts:
        filled = {int(hit.time_s / 2.0 + 0.01) % 4 for hit in part if hit.piece in toms}
        assert filled <= {3}
    assert any(hit.piece in toms for part in parts for hit in part)


@pytest.mark.parametrize(
    ("meter", "beats"), [(Meter(3, 4), 3), (Meter(6, 8), 2), (Meter(5, 4), 5), (Meter(2, 4), 2)]
)
def test_bars_of_any_length_are_filled_and_not_overrun(meter: Meter, beats: int) -> None:
    bars = changes_of(chart(["C"] * 3, bpm=60, meter=meter))
    for feel in FEELS.values():
        hits = drum_part(bars, feel, 1, ends=False)
        assert all(0 <= hit.time_s < 3 * beats for hit in hits)
        hit_bars = {int(hit.time_s / beats + 0.005) for hit in hits}
        assert hit_bars == {0, 1, 2}


def test_an_ending_is_one_stroke() -> None:
    bars = changes_of(chart(["C", "C"]))
    last = [
        hit for hit in drum_part(bars, FEELS["funk"], 1, ends=True) if hit.time_s >= bars[1].start_s - 0.01
    ]
    assert {hit.piece for hit in last} == {Piece.KICK, Piece.CRASH, Piece.SNARE}
