"""What must hold of every shape, and the search against trying everything."""

from itertools import combinations_with_replacement, pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fretwright.base.errors import FretboardError
from fretwright.fretboard.hand import hold
from fretwright.fretboard.layout import _dealt_out, run_cost
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.shapes import Shape, positions_of, shape_at, shape_by_strings
from fretwright.fretboard.tuning import Tuning
from fretwright.theory.scale import SCALE_KINDS, Scale, plain_name
from strategies import note_names, scales, tunings

named_scales = st.builds(Scale, note_names(1), st.sampled_from(list(SCALE_KINDS.values())))
fourths = st.sampled_from(
    ["standard", "half step down", "bass", "5-string bass", "7-string", "8-string", "9-string"]
)


def assert_sound(shape: Shape) -> None:
    """Every scale note from the lowest to the highest once, at its place, taken by a possible finger."""
    heights = [note.pitch.midi for note in shape.notes]
    members = [midi for midi in range(heights[0], heights[-1] + 1) if shape.scale.contains(midi)]
    assert heights == members
    for note in shape.notes:
        assert shape.neck.holds(note.place)
        assert shape.neck.midi_at(note.place) == note.pitch.midi
        assert note.pitch.name in shape.scale.notes
        assert shape.scale.tonic.transposed(note.degree) == note.pitch.name
        assert (note.finger == 0) == (note.place.fret == 0)
        assert 0 <= note.finger <= 4
    for string in shape.neck.tuning.strings:
        fingers = [note.finger for note in shape.on_string(string)]
        assert fingers == sorted(fingers)


@given(scales(), tunings(), st.integers(0, 17), st.integers(0, 4))
def test_a_shape_holds_each_scale_note_once_in_any_tuning(
    scale: Scale, tuning: Tuning, position: int, capo: int
) -> None:
    neck = Neck(tuning, frets=24, capo=capo)
    try:
        shape = shape_at(scale, neck, position)
    except FretboardError:
        # Strings a major sixth or more apart leave notes that no hand in one position reaches.
        heights = sorted(pitch.midi for pitch in tuning.open_pitches)
        assert max(high - low for low, high in pairwise(heights)) > 9
        return
    assert_sound(shape)


@given(named_scales, fourths, st.integers(1, 18))
def test_with_strings_in_fourths_the_hand_leaves_its_position_by_one_fret_at_most(
    scale: Scale, tuning: str, position: int
) -> None:
    neck = Neck(Tuning.parse(tuning), frets=24)
    shape = shape_at(scale, neck, position)
    assert_sound(shape)
    for string in neck.tuning.strings:
        frets = [note.place.fret for note in shape.on_string(string) if note.place.fret > 0]
        assert not frets or max(frets) - min(frets) <= 4
        assert all(position - 1 <= fret <= position + 4 for fret in frets)


@settings(max_examples=40)
@given(scales(), tunings())
def test_every_position_along_the_neck_is_found_again_by_its_number(scale: Scale, tuning: Tuning) -> None:
    neck = Neck(tuning, frets=20)
    shapes = positions_of(scale, neck)
    assert [shape.position for shape in shapes] == sorted({shape.position for shape in shapes})
    for shape in shapes:
        assert_sound(shape)
        again = shape_at(scale, neck, 1 if shape.position == 0 else shape.position)
        assert again == shape


@given(named_scales, st.integers(7, 12), st.integers(1, 12))
def test_a_shape_moves_along_the_neck_with_its_scale(scale: Scale, position: int, half_steps: int) -> None:
    neck = Neck(frets=36)
    shape = shape_at(scale, neck, position)
    higher = plain_name(scale.tonic.pitch_class + half_steps, sharps=True)
    moved = shape_at(Scale(higher, scale.kind), neck, position + half_steps)
    assert [(n.place.string, n.place.fret - half_steps, n.finger) for n in moved.notes] == [
        (n.place.string, n.place.fret, n.finger) for n in shape.notes
    ]


@given(scales(), st.integers(1, 4), st.integers(0, 12), st.data())
def test_the_same_number_of_notes_lies_on_every_string(
    scale: Scale, per_string: int, position: int, data: st.DataObject
) -> None:
    neck = Neck(frets=24)
    start = data.draw(st.none() | st.sampled_from(scale.notes) | st.sampled_from(scale.degrees))
    try:
        shape = shape_by_strings(scale, neck, per_string, start, position)
    except FretboardError:
        assume(False)  # the notes run off the neck
    assert_sound(shape)
    assert {len(shape.on_string(string)) for string in neck.tuning.strings} == {per_string}


@given(
    st.lists(st.integers(1, 7), min_size=2, max_size=4),
    st.lists(st.integers(1, 3), min_size=3, max_size=9),
    st.integers(1, 7),
)
def test_the_search_finds_what_trying_every_layout_finds(
    gaps: list[int], steps: list[int], position: int
) -> None:
    opens = [40]
    for gap in gaps:
        opens.append(opens[-1] + gap)
    notes = [40 + position]
    for step in steps:
        notes.append(notes[-1] + step)

    def frets_on(string: int, run: list[int]) -> tuple[int, ...] | None:
        frets = tuple(midi - opens[string] for midi in run)
        return None if frets and (frets[0] < 1 or frets[-1] > position + 8) else frets

    costs = []
    for cuts in combinations_with_replacement(range(len(notes) + 1), len(gaps)):
        bounds = pairwise([0, *cuts, len(notes)])
        runs = [frets_on(string, notes[low:high]) for string, (low, high) in enumerate(bounds)]
        if None not in runs:
            costs.append(sum(run_cost(run, position) for run in runs if run is not None))
    found = _dealt_out(notes, len(opens), lambda string, run: frets_on(string, list(run)), position)
    if found is None:
        assert costs == []
    else:
        assert sum(run_cost(run, position) for run in found) == min(costs)
        assert [midi + fret for midi, run in zip(opens, found, strict=True) for fret in run] == notes


def test_a_run_without_notes_is_dearer_than_moving_the_hand() -> None:
    assert run_cost((), 5) > hold((4, 6), 5).cost


@pytest.mark.parametrize("count", range(4, 10))
def test_every_number_of_strings_has_positions(count: int) -> None:
    notes = ["C#1", "F#1", "B1", "E2", "A2", "D3", "G3", "B3", "E4"]
    tuning = Tuning.parse(" ".join(notes[-count:]))
    for shape in positions_of(Scale.parse("A minor pentatonic"), Neck(tuning)):
        assert_sound(shape)
        if shape.position <= 17:  # the last shape has to make do with the frets that are left
            assert all(len(shape.on_string(string)) == 2 for string in tuning.strings)
