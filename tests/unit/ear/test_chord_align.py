"""Strokes aligned on odds written by hand: no sound is needed to see which way was taken."""

import numpy as np
import pytest

from fretwright.ear.align import Alignment
from fretwright.ear.chord_align import align_events, fit_of
from fretwright.ear.chosen import last_complete, played_through
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.track_search import events_of
from fretwright.score.timeline import timeline
from fretwright.score.values import QUARTER
from scores import line

C = "5/3+4/2+3/0+2/1+1/0"
D = "4/0+3/2+2/3+1/2"
EVENTS = events_of(timeline(line(" ".join([C, D] * 4), value=QUARTER)))
BEAT_S = 0.75
QUIET, CLEAR = -9.0, 5.0


def aligned(times_s: list[float], pitches: list[tuple[int, ...]]) -> Alignment:
    """Candidates every 50 ms; at the times given these pitches start."""
    moments = np.arange(0, times_s[-1] + 1, 0.05)
    among = np.full((len(moments), PITCHES), QUIET, dtype=np.float32)
    rise = np.zeros(len(moments))
    for time_s, struck in zip(times_s, pitches, strict=True):
        at = round(time_s / 0.05)
        among[at, [midi - LOWEST_MIDI for midi in struck]] = CLEAR
        rise[at] = 1.0
    return align_events(EVENTS, moments, among, rise)


def strokes(stretch: float = 1.0) -> list[float]:
    return [0.5 + stretch * BEAT_S * place for place in range(8)]


@pytest.mark.parametrize("stretch", [0.72, 1.0, 1.45])
def test_every_stroke_is_found_at_any_tempo(stretch: float) -> None:
    found = aligned(strokes(stretch), list(EVENTS.pitches))

    (one,) = found.passes
    assert [match.note for match in one.matches] == list(range(8))
    assert fit_of(found, EVENTS) == 1.0
    assert one.tempo == pytest.approx(stretch, rel=0.06)


def test_a_stroke_left_out_stays_out_and_one_too_many_is_one() -> None:
    times, pitches = strokes(), list(EVENTS.pitches)
    times[3:4], pitches[3:4] = [], []
    times.insert(5, times[4] + 0.4)
    pitches.insert(5, pitches[4])

    (one,) = aligned(times, pitches).passes

    assert [match.note for match in one.matches] == [0, 1, 2, 4, 5, 6, 7]
    assert len(one.extras) == 1


def test_a_chord_of_which_half_is_silent_is_still_its_stroke() -> None:
    pitches = [tuple(struck[: (len(struck) + 1) // 2]) for struck in EVENTS.pitches]

    found = aligned(strokes(), pitches)

    assert fit_of(found, EVENTS) == 1.0


def test_another_chord_at_its_time_keeps_its_place() -> None:
    pitches = list(EVENTS.pitches)
    pitches[4] = tuple(midi + 1 for midi in pitches[4])

    (one,) = aligned(strokes(), pitches).passes

    assert [match.note for match in one.matches] == list(range(8))
    assert [match.note for match in one.matches if match.odds <= match.rival] == [4]


def test_begun_anew_after_breaking_off() -> None:
    times = [*strokes()[:4], *(6.0 + time_s for time_s in strokes())]
    pitches = [*EVENTS.pitches[:4], *EVENTS.pitches]

    chosen = last_complete(played_through(aligned(times, pitches).passes, 8))

    assert chosen is not None
    assert chosen.complete
    assert [match.note for match in chosen.matches] == list(range(8))
    assert chosen.matches[0].moment == round(6.5 / 0.05)


def test_a_take_three_frets_higher_is_told_so() -> None:
    found = aligned(strokes(), [tuple(midi + 3 for midi in struck) for struck in EVENTS.pitches])

    assert found.shift == 3
    assert fit_of(found, EVENTS) == 1.0
