from dataclasses import replace
from itertools import pairwise

import pytest

from fretwright.engrave.plate import Plate, engrave
from fretwright.engrave.style import PlateStyle
from fretwright.film.clock import Clock, clock_of
from fretwright.film.path import Path, column_mm, path_of, sounding_of
from fretwright.score.score import Score, Writing
from fretwright.score.values import QUARTER
from scores import line

RUN = " ".join(["6/5 6/8h 5/5 5/7 4/5 4/7 3/5 3/7"] * 6)


def filmed(score: Score, width_mm: float = 80.0) -> tuple[Plate, Clock, Path]:
    plate = engrave(score, PlateStyle(width_mm=width_mm, staff=False))
    clock = clock_of(score, 90.0)
    return plate, clock, path_of(plate, clock)


def repeated() -> Score:
    score = line(RUN)
    bars = list(score.bars)
    bars[3] = replace(bars[3], closes_repeat=2)
    return replace(score, bars=tuple(bars))


@pytest.mark.parametrize("score", [line(RUN), repeated()], ids=["straight", "repeated"])
def test_at_every_onset_the_playhead_stands_on_the_notes_own_column(score: Score) -> None:
    plate, clock, path = filmed(score)

    for note in clock.notes:
        spot = path.at(note.onset_s)
        box = next(box for box in plate.boxes[note.note_id] if box.layer == "tab")
        assert spot.line == box.system
        assert spot.x_mm == pytest.approx(box.x + box.width / 2, abs=0.002)
        assert path.step_at(note.onset_s).x_mm == pytest.approx(box.x + box.width / 2)


def test_between_two_onsets_it_runs_evenly() -> None:
    _, clock, path = filmed(line(RUN))
    first, second = clock.notes[:2]

    quarters = [
        path.at(first.onset_s + share * (second.onset_s - first.onset_s)).x_mm for share in (0, 0.25, 0.5, 1)
    ]

    assert quarters[1] - quarters[0] == pytest.approx((quarters[3] - quarters[0]) / 4, abs=0.002)
    assert quarters[2] - quarters[0] == pytest.approx((quarters[3] - quarters[0]) / 2, abs=0.002)


@pytest.mark.parametrize("score", [line(RUN), repeated()], ids=["straight", "repeated"])
def test_on_one_line_it_never_goes_back_but_for_a_repeat(score: Score) -> None:
    plate, clock, path = filmed(score)
    jumps = 0
    times = [
        clock.music_starts_s + step / 200
        for step in range(int(200 * (clock.music_ends_s - clock.music_starts_s)))
    ]
    for sooner, later in pairwise(path.at(time_s) for time_s in times):
        if later.line != sooner.line or later.x_mm < sooner.x_mm:
            jumps += 1
            assert sooner.x_mm > 0.8 * plate.width_mm or score.bars[3].closes_repeat
        else:
            assert later.x_mm - sooner.x_mm < 1.0
    lines = len(plate.systems)
    assert jumps == (lines - 1 if not score.bars[3].closes_repeat else len(path.visits) - 1)


def test_legs_follow_each_other_without_a_gap() -> None:
    _, clock, path = filmed(repeated())

    assert path.legs[0].start_s == pytest.approx(clock.music_starts_s)
    assert path.legs[-1].end_s == pytest.approx(clock.music_ends_s)
    for sooner, later in pairwise(path.legs):
        assert later.start_s == pytest.approx(sooner.end_s, abs=1e-4)


def test_before_the_music_it_waits_and_after_it_it_stays() -> None:
    plate, clock, path = filmed(line(RUN))

    assert path.at(0.0) == path.at(clock.music_starts_s)
    assert path.at(0.0).x_mm == pytest.approx(column_mm(plate, clock.notes[0].note_id))
    assert path.at(clock.ends_s).x_mm == pytest.approx(plate.bars[-1].x + plate.bars[-1].width)


def test_a_bar_that_starts_with_a_rest_is_entered_behind_its_bar_line() -> None:
    plate, clock, path = filmed(line("6/5 6/8 5/5 5/7 r 4/5 4/7 3/5", value=QUARTER))

    spot = path.at(clock.bars[1].start_s)

    assert plate.bars[1].x < spot.x_mm < column_mm(plate, clock.notes[4].note_id)


def test_a_repeat_is_visited_again() -> None:
    _, clock, path = filmed(repeated())

    assert clock.bars[4].index == 0
    again = [visit for visit in path.visits if visit.time_through == 2]
    assert again
    assert again[0].bars[0] == 1


def test_what_sounds_is_what_the_time_map_says() -> None:
    clock = clock_of(repeated(), 90.0)
    sounding = sounding_of(clock)

    for note in clock.notes:
        middle_s = note.onset_s + note.duration_s / 2
        expected = {
            other.note_id
            for other in clock.notes
            if other.onset_s <= middle_s < other.onset_s + other.duration_s
        }
        assert sounding.at(middle_s) == expected
    assert sounding.at(0.0) == frozenset()
    assert sounding.at(clock.ends_s) == frozenset()


def test_where_there_is_no_tab_the_playhead_stands_on_the_slash() -> None:
    score = replace(
        line("6/3+5/2+4/0 6/3+5/2+4/0 6/3+5/2+4/0 6/3+5/2+4/0", value=QUARTER), writing=Writing.SLASHES
    )
    plate, clock, path = filmed(score)

    for note in clock.notes:
        (box,) = plate.boxes[note.note_id]
        assert path.at(note.onset_s).x_mm == pytest.approx(box.x + box.width / 2, abs=0.002)
