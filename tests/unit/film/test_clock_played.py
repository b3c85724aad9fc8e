from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import RenderError, ScoreError
from fretwright.engrave.plate import engrave
from fretwright.film.clock_played import clock_played
from fretwright.film.path import column_mm, path_of
from fretwright.score.playing import Playing
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from scores import line

SCORE = line("6/5 6/8h 5/5 5/7 4/5 4/7 3/5 3/7 3/7 3/5 4/7 4/5 5/7 5/5 6/8 6/5")
WRITTEN = [timed.onset_s for timed in timeline(SCORE).notes]


def playing(onsets_s: list[float | None], first: int = 0) -> Playing:
    known = [onset for onset in onsets_s if onset is not None]
    return Playing(first, tuple(onsets_s), known[0] - 1, known[-1] + 1)


@given(st.lists(st.floats(0.05, 1.5), min_size=15, max_size=15), st.floats(0, 3600))
def test_every_note_stands_where_it_was_played(gaps: list[float], start_s: float) -> None:
    onsets = [start_s]
    for gap in gaps:
        onsets.append(onsets[-1] + gap)

    clock = clock_played(SCORE, playing([*onsets]))

    assert [note.onset_s for note in clock.notes] == pytest.approx(onsets, abs=1e-6)
    for one, other in pairwise(clock.notes):
        assert one.onset_s + one.duration_s == pytest.approx(other.onset_s, abs=1e-6)
    assert clock.bars[0].start_s == pytest.approx(onsets[0], abs=1e-6)
    assert clock.bars[1].start_s == pytest.approx(onsets[8], abs=1e-6)


def test_what_was_not_heard_stands_between_its_neighbours() -> None:
    onsets: list[float | None] = [10 + 2 * written for written in WRITTEN]
    onsets[0] = onsets[5] = onsets[6] = onsets[15] = None

    clock = clock_played(SCORE, playing(onsets))

    assert [note.onset_s for note in clock.notes] == pytest.approx([10 + 2 * w for w in WRITTEN])
    assert clock.bpm == pytest.approx(SCORE.tempo.bpm / 2)


def test_a_misheard_order_does_not_turn_time_back() -> None:
    onsets: list[float | None] = [10 + written for written in WRITTEN]
    onsets[4] = 10 + WRITTEN[3] - 0.01

    clock = clock_played(SCORE, playing(onsets))

    assert all(one.onset_s < other.onset_s for one, other in pairwise(clock.notes))


def test_a_part_has_the_bars_that_were_played() -> None:
    clock = clock_played(SCORE, playing([20.0, 20.5, 21.0, 21.5], first=10))

    assert [note.note_id for note in clock.notes] == [SCORE.notes[place].id for place in range(10, 14)]
    assert [bar.index for bar in clock.bars] == [1]
    # two eighths of the bar come before its first note that was played
    assert clock.bars[0].start_s == pytest.approx(19.0)
    assert [beat.number for beat in clock.beats] == [1, 2, 3, 4]


def test_the_playhead_is_at_each_note_when_it_was_played() -> None:
    onsets = [5 + 1.3 * written + 0.02 * (place % 3) for place, written in enumerate(WRITTEN)]
    plate = engrave(SCORE, id_prefix="test")
    clock = clock_played(SCORE, playing([*onsets]))
    path = path_of(plate, clock)

    for note, onset_s in zip(clock.notes, onsets, strict=True):
        assert path.at(onset_s).x_mm == pytest.approx(column_mm(plate, note.note_id))


def test_a_chord_is_played_at_one_moment() -> None:
    chords: Score = line("6/5+5/7+4/7 3/5 6/5+5/7")

    clock = clock_played(chords, playing([1.0, 1.02, 1.04, 1.5, 2.0, None]))

    assert [note.onset_s for note in clock.notes] == pytest.approx([1.02, 1.02, 1.02, 1.5, 2.0, 2.0])


def test_another_exercise_is_refused() -> None:
    with pytest.raises(RenderError, match="another exercise"):
        clock_played(SCORE, playing([1.0, 2.0, 3.0], first=14))
    with pytest.raises(RenderError, match="Too little"):
        clock_played(line("6/5+5/7 3/5"), playing([1.0, 1.0]))
    with pytest.raises(ScoreError, match="two notes"):
        Playing(0, (1.0, None), 0.0, 2.0)
