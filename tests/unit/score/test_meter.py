"""Time signatures: ranks of places against music21, and lengths written so that the beats stay visible."""

from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import ScoreError
from fretwright.score.meter import Meter
from strategies import meters

F = Fraction


@pytest.mark.parametrize(
    ("count", "unit", "beat", "beats", "compound"),
    [
        (4, 4, F(1, 4), 4, False),
        (3, 4, F(1, 4), 3, False),
        (2, 2, F(1, 2), 2, False),
        (6, 8, F(3, 8), 2, True),
        (9, 8, F(3, 8), 3, True),
        (12, 8, F(3, 8), 4, True),
        (3, 8, F(1, 8), 3, False),
        (6, 4, F(1, 4), 6, False),
        (7, 8, F(1, 8), 7, False),
    ],
)
def test_beats(count: int, unit: int, beat: F, beats: int, compound: bool) -> None:
    meter = Meter(count, unit)
    assert (meter.beat, meter.beats, meter.is_compound) == (beat, beats, compound)
    assert meter.length == F(count, unit) == beat * beats
    assert str(meter) == f"{count}/{unit}"


@pytest.mark.parametrize(("count", "unit"), [(0, 4), (4, 3), (33, 4), (4, 128), (-3, 4)])
def test_what_is_no_time_signature_is_refused(count: int, unit: int) -> None:
    with pytest.raises(ScoreError, match="not a time signature"):
        Meter(count, unit)


@pytest.mark.parametrize("figures", ["4/4", "3/4", "2/4", "6/8", "9/8", "12/8"])
def test_stronger_places_of_music21_rank_no_lower_here(figures: str) -> None:
    """music21 gives every eighth of a bar an accent weight; ours must put them in the same order."""
    from music21.meter.base import TimeSignature

    reference: Any = TimeSignature(figures)
    meter = Meter(*map(int, figures.split("/")))
    places = [F(i, 8) for i in range(int(meter.length * 8))]
    for a in places:
        for b in places:
            if reference.getAccentWeight(float(a * 4)) > reference.getAccentWeight(float(b * 4)):
                assert meter.rank(a) < meter.rank(b)


def test_places_off_the_grid_rank_with_the_weakest() -> None:
    meter = Meter(4, 4)
    assert meter.rank(F(1, 12)) >= meter.rank(F(1, 64))
    assert [meter.rank(F(i, 8)) for i in range(8)] == [0, 3, 2, 3, 1, 3, 2, 3]


@pytest.mark.parametrize(
    ("meter", "offset", "duration", "expected"),
    [
        # as engravers write it (common practice, no source): start, length -> signs, tied
        ((4, 4), F(0), F(1), ["whole"]),
        ((4, 4), F(0), F(3, 8), ["dotted quarter"]),
        ((4, 4), F(0), F(5, 8), ["half", "eighth"]),
        ((4, 4), F(0), F(7, 8), ["half", "dotted quarter"]),
        ((4, 4), F(1, 8), F(1, 4), ["quarter"]),
        ((4, 4), F(1, 4), F(1, 2), ["half"]),
        ((4, 4), F(3, 8), F(1, 4), ["eighth", "eighth"]),
        ((4, 4), F(1, 4), F(3, 4), ["quarter", "half"]),
        ((4, 4), F(3, 8), F(5, 8), ["eighth", "half"]),
        ((4, 4), F(1, 8), F(7, 8), ["eighth", "quarter", "half"]),
        ((4, 4), F(1, 16), F(1, 8), ["eighth"]),
        ((3, 4), F(0), F(3, 4), ["dotted half"]),
        ((3, 4), F(1, 4), F(1, 2), ["half"]),
        ((6, 8), F(0), F(3, 4), ["dotted half"]),
        ((6, 8), F(0), F(3, 8), ["dotted quarter"]),
        ((6, 8), F(0), F(1, 2), ["dotted quarter", "eighth"]),
        ((6, 8), F(0), F(5, 8), ["dotted quarter", "quarter"]),
        ((6, 8), F(1, 8), F(1, 4), ["quarter"]),
        ((6, 8), F(1, 4), F(1, 4), ["eighth", "eighth"]),
        ((9, 8), F(0), F(9, 8), ["dotted quarter", "dotted half"]),
        ((12, 8), F(0), F(3, 2), ["dotted whole"]),
    ],
)
def test_lengths_are_written_as_engravers_write_them(
    meter: tuple[int, int], offset: F, duration: F, expected: list[str]
) -> None:
    assert [value.name for value in Meter(*meter).spell(offset, duration)] == expected


@given(meters(), st.integers(0, 31), st.integers(1, 32))
def test_written_values_add_up_and_no_later_one_starts_off_the_grid(
    meter: Meter, start: int, length: int
) -> None:
    offset, duration = F(start, 32) % meter.length, F(length, 32)
    duration = min(duration, meter.length - offset)
    chain = meter.spell(offset, duration)
    assert sum(value.duration for value in chain) == duration
    assert all(value.tuplet is None for value in chain)


@given(meters(), st.integers(0, 31), st.integers(1, 32))
def test_a_tie_is_written_only_where_one_sign_would_hide_a_stronger_place_or_a_beat(
    meter: Meter, start: int, length: int
) -> None:
    offset = F(start, 32) % meter.length
    duration = min(F(length, 32), meter.length - offset)
    at = offset
    places = [offset]
    for value in meter.spell(offset, duration):
        at += value.duration
        places.append(at)
    # no note of a chain hides a place two ranks stronger than its own start
    for begin, end in pairwise(places):
        inside = [F(i, 32) for i in range(int(begin * 32) + 1, int(-(-end * 32 // 1)))]
        assert all(meter.rank(begin) - meter.rank(place) <= 1 for place in inside)


@pytest.mark.parametrize("duration", [F(0), F(-1, 4), F(1, 12), F(1, 128)])
def test_a_length_that_cannot_be_written_is_refused(duration: F) -> None:
    with pytest.raises(ScoreError):
        Meter(4, 4).spell(F(0), duration)
