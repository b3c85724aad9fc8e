from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fretwright.film.clock import Beat, clock_of, visible_beats
from fretwright.fretboard.neck import Place
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.score.techniques import Grace, Stroke, Techniques
from fretwright.score.values import EIGHTH, QUARTER
from fretwright.sound.render import SoundOptions, render
from scores import line


def strummed_after_a_grace() -> Score:
    """A grace note leads into the first bar, so that the sound starts later; strings come in turn."""
    plain = line("5/3+4/2+3/0 5/3+4/2+3/0", value=QUARTER)
    grace = Grace(Place(5, 2), plain.neck.pitch_at(Place(5, 2)), is_slurred_on=False)
    first, *others = (replace(note, stroke=Stroke.DOWN) for note in plain.notes)
    return plain.with_notes((replace(first, techniques=Techniques(graces=(grace,))), *others))


SCORES = {
    "one bar": line("6/5 6/8h 5/5 5/7 4/5 4/7 r 3/5"),
    "three four": line("6/5 6/8 5/5 5/7 4/5 4/7", value=QUARTER, meter=Meter(3, 4)),
    "six eight": line("6/5 6/8 5/5 5/7 4/5 4/7", value=EIGHTH, meter=Meter(6, 8)),
    "strummed": strummed_after_a_grace(),
    "pickup": line("6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7 2/5 2/8", value=EIGHTH, pickup=Fraction(1, 4)),
}


@pytest.mark.parametrize("bpm", [60.0, 97.0])
@pytest.mark.parametrize("name", SCORES)
def test_the_clock_is_that_of_the_sound_to_the_sample(name: str, bpm: float) -> None:
    score = SCORES[name]
    sound = render(score, bpm, options=SoundOptions(count_in=True))

    clock = clock_of(score, bpm)

    assert clock.notes == sound.time_map
    assert clock.music_starts_s == sound.music_starts_s
    assert clock.music_ends_s == sound.music_ends_s
    assert clock.ends_s == pytest.approx(sound.duration_s, abs=1 / 48_000)


def test_without_a_count_in_the_music_starts_with_the_sound() -> None:
    clock = clock_of(SCORES["one bar"], 60.0, count_in=False)

    assert clock.music_starts_s == render(SCORES["one bar"], 60.0).music_starts_s
    assert [beat.number for beat in clock.beats] == [1, 2, 3, 4]


def test_the_count_goes_one_bar_and_runs_on_into_the_music() -> None:
    clock = clock_of(SCORES["three four"], 60.0)

    assert [beat.number for beat in clock.beats] == [1, 2, 3] * 3
    assert [beat.time_s for beat in clock.beats] == pytest.approx([0.05 + number for number in range(9)])


def test_before_a_pickup_the_count_leads_up_to_it() -> None:
    clock = clock_of(SCORES["pickup"], 60.0)

    # A bar of four, three beats of the pickup's bar, then the pickup itself on four.
    assert [beat.number for beat in clock.beats][:9] == [1, 2, 3, 4, 1, 2, 3, 4, 1]
    assert clock.music_starts_s == pytest.approx(0.05 + 7.0)


def test_moving_the_clock_moves_everything() -> None:
    clock = clock_of(SCORES["one bar"], 60.0)

    moved = clock.later(3.0)

    assert moved.sound_starts_s == 3.0
    assert moved.ends_s - moved.music_starts_s == pytest.approx(clock.ends_s - clock.music_starts_s)
    for ours, theirs in zip(moved.notes, clock.notes, strict=True):
        assert ours.onset_s - theirs.onset_s == pytest.approx(3.0)


@settings(max_examples=60)
@given(
    bpm=st.floats(10, 400),
    meter=st.sampled_from(
        [Meter(1, 4), Meter(2, 4), Meter(3, 4), Meter(4, 4), Meter(5, 4), Meter(7, 8), Meter(6, 8)]
    ),
)
def test_at_no_tempo_does_the_count_change_more_than_three_times_in_a_second(
    bpm: float, meter: Meter
) -> None:
    # WCAG 2.2, success criterion 2.3.1: no more than three flashes in any one second.
    score = line(
        " ".join(["6/5"] * (4 * meter.count)), value=EIGHTH if meter.unit == 8 else QUARTER, meter=meter
    )

    shown = [beat.time_s for beat in visible_beats(clock_of(score, bpm).beats)]

    assert shown
    for first in shown:
        assert sum(first <= time_s < first + 1.0 for time_s in shown) <= 3


@pytest.mark.parametrize(
    ("bpm", "numbers"), [(170, [1, 2, 3, 4]), (200, [1, 3]), (350, [1, 3]), (390, [1]), (400, [1])]
)
def test_a_quick_count_shows_even_parts_of_the_bar(bpm: int, numbers: list[int]) -> None:
    beats = tuple(Beat(place * 60 / bpm, place % 4 + 1, 4) for place in range(16))

    assert [beat.number for beat in visible_beats(beats)] == numbers * 4


def test_a_score_of_many_meters_counts_each_bar_by_its_own() -> None:
    clock = clock_of(SCORES["six eight"], 60.0)

    assert {beat.of for beat in clock.beats} == {2}
