from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import FretboardError
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import STANDARD, Tuning
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale
from strategies import necks, places_on

FRETS_MM = {
    1: (36.369, 35.247), 2: (70.698, 68.516), 3: (103.099, 99.917), 4: (133.682, 129.556),
    5: (162.549, 157.532), 7: (215.512, 208.860), 8: (239.786, 232.385), 12: (324.000, 314.000),
    24: (486.000, 471.000),
}  # fmt: skip
"""Fret from the nut for scale lengths of 648 and 628 mm, by equal temperament: L(1 - 2^(-n/12))."""


@pytest.mark.parametrize(("fret", "positions_mm"), FRETS_MM.items())
def test_frets_stand_in_equal_temperament(fret: int, positions_mm: tuple[float, float]) -> None:
    for scale_length_mm, expected_mm in zip((648.0, 628.0), positions_mm, strict=True):
        neck = Neck(scale_length_mm=scale_length_mm, frets=24)
        assert neck.fret_position_mm(fret) == pytest.approx(expected_mm, abs=0.0005)


@pytest.mark.parametrize(
    ("low", "high", "span_mm"), [(1, 4, 97.3), (5, 8, 77.2), (7, 10, 68.8), (12, 15, 51.5)]
)
def test_four_frets_span_what_they_measure(low: int, high: int, span_mm: float) -> None:
    # Computed from L(1 - 2^(-n/12)) for 648 mm.
    neck = Neck()
    assert neck.fret_position_mm(high) - neck.fret_position_mm(low) == pytest.approx(span_mm, abs=0.06)


def test_frets_are_counted_from_the_capo() -> None:
    bare, capped = Neck(), Neck(capo=3)
    assert capped.midi_at(Place(1, 2)) == bare.midi_at(Place(1, 5))
    assert capped.fret_position_mm(2) == bare.fret_position_mm(5)
    assert capped.fret_position_mm(0) == bare.fret_position_mm(3)
    assert capped.finger_point_mm(Place(1, 2)) == bare.finger_point_mm(Place(1, 5))
    assert capped.last_fret == 19
    assert capped.places_of(64) == (Place(2, 2), Place(3, 6), Place(4, 11), Place(5, 16))


@pytest.mark.parametrize(("fret", "hz"), [(0, 329.628), (12, 659.255), (22, 1174.659), (24, 1318.510)])
def test_the_first_string_sounds_at_the_frequencies_of_iso_16(fret: int, hz: float) -> None:
    # Computed from ISO 16:1975
    assert Neck(frets=24).pitch_at(Place(1, fret)).frequency_hz() == pytest.approx(hz, abs=0.0005)


def test_middle_c_lies_where_every_player_finds_it() -> None:
    # common practice, no source
    assert Neck().places_of(60) == (Place(2, 1), Place(3, 5), Place(4, 10), Place(5, 15), Place(6, 20))


def test_a_place_is_spelled_as_the_key_or_scale_asks() -> None:
    neck = Neck()
    place = Place(6, 2)
    assert str(neck.pitch_at(place)) == "F#2"
    assert str(neck.pitch_at(place, Key.parse("Gb major"))) == "Gb2"
    assert str(neck.pitch_at(Place(2, 0), Scale.parse("Gb blues"))) == "Cb4"


def test_the_fingertip_is_behind_its_wire_and_never_before_the_middle_of_the_space() -> None:
    neck = Neck(frets=24)
    for fret in range(1, 25):
        wire_mm, before_mm = neck.fret_position_mm(fret), neck.fret_position_mm(fret - 1)
        x_mm, _ = neck.finger_point_mm(Place(3, fret))
        assert (before_mm + wire_mm) / 2 <= x_mm < wire_mm
    assert neck.finger_point_mm(Place(3, 0))[0] == 0.0


def test_strings_lie_side_by_side_about_the_middle_line_and_spread_towards_the_bridge() -> None:
    neck = Neck()
    at_nut = [neck.finger_point_mm(Place(string, 0))[1] for string in STANDARD.strings]
    assert at_nut == pytest.approx([17.75, 10.65, 3.55, -3.55, -10.65, -17.75])
    assert neck.distance_mm(Place(1, 0), Place(6, 0)) == pytest.approx(35.5)
    assert neck.distance_mm(Place(1, 12), Place(6, 12)) == pytest.approx(
        5 * (7.1 + 3.3 * neck.finger_point_mm(Place(1, 12))[0] / 648)
    )


@pytest.mark.parametrize("place", [Place(0, 1), Place(7, 1), Place(1, -1), Place(1, 23)])
def test_a_place_off_the_neck_is_refused_with_a_mend(place: Place) -> None:
    neck = Neck()
    assert not neck.holds(place)
    for measure in (neck.midi_at, neck.finger_point_mm):
        with pytest.raises(FretboardError) as caught:
            measure(place)
        assert caught.value.mend


def test_a_fret_beyond_the_neck_is_refused_with_a_mend() -> None:
    with pytest.raises(FretboardError, match="to 17"):
        Neck(capo=5).fret_position_mm(18)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Neck(scale_length_mm=20.0),
        lambda: Neck(scale_length_mm=float("nan")),
        lambda: Neck(frets=0),
        lambda: Neck(frets=99),
        lambda: Neck(capo=22),
        lambda: Neck(capo=-1),
        lambda: Neck(string_spacing_nut_mm=0.0),
        lambda: Neck(string_spacing_bridge_mm=-1.0),
    ],
)
def test_impossible_necks_are_refused_with_a_mend(make: Callable[[], Neck]) -> None:
    with pytest.raises(FretboardError) as caught:
        make()
    assert caught.value.mend


@given(st.data(), necks())
def test_places_of_a_note_and_the_note_at_a_place_are_inverse(data: st.DataObject, neck: Neck) -> None:
    place = data.draw(places_on(neck))
    assert neck.holds(place)
    assert place in neck.places_of(neck.midi_at(place))


@given(necks(), st.integers(0, 127))
def test_every_place_of_a_note_sounds_as_it_and_lies_on_the_neck(neck: Neck, midi: int) -> None:
    places = neck.places_of(midi)
    assert all(neck.holds(place) and neck.midi_at(place) == midi for place in places)
    assert [place.string for place in places] == sorted({place.string for place in places})


@given(necks())
def test_twelve_frets_halve_what_is_left_of_the_string(neck: Neck) -> None:
    left_mm = [neck.scale_length_mm - neck.fret_position_mm(fret) for fret in range(neck.last_fret + 1)]
    assert all(near > far for near, far in pairwise(left_mm))
    for fret in range(neck.last_fret - 11):
        assert left_mm[fret + 12] == pytest.approx(left_mm[fret] / 2)


@given(st.data(), necks())
def test_distance_is_the_same_both_ways_and_none_to_itself(data: st.DataObject, neck: Neck) -> None:
    a, b = data.draw(places_on(neck)), data.draw(places_on(neck))
    assert neck.distance_mm(a, b) == neck.distance_mm(b, a)
    assert neck.distance_mm(a, a) == 0.0
    assert (neck.distance_mm(a, b) == 0.0) == (a == b)


def test_a_neck_of_another_instrument_has_its_own_strings() -> None:
    bass = Neck(Tuning.parse("bass"), scale_length_mm=864.0)
    assert bass.midi_at(Place(4, 0)) == 28
    assert not bass.holds(Place(5, 0))
