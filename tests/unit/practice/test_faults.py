"""What is to be mended in one take."""

from dataclasses import replace

import pytest

from fretwright.ear import headline, pulse
from fretwright.practice import faults
from fretwright.practice.faults import Came, NoteOutcome, TakeOutcome, faults_of, is_clean, slur_level_db
from fretwright.practice.history import Fault, FaultKind

NOTE = NoteOutcome(1, Came.PLAYED, is_slur=False, plucked=True, timing_ms=2.0, cents=1.0, level_db=0.0)
SLUR = replace(NOTE, is_slur=True, plucked=False, level_db=-5.0)
CLEAN = TakeOutcome(
    (NOTE, SLUR, NOTE, SLUR, *[replace(NOTE, bar=2)] * 4), 250.0, 8.0, 1.0, 0, 0, complete=True
)


def with_notes(*notes: NoteOutcome) -> TakeOutcome:
    return replace(CLEAN, notes=(*notes, *CLEAN.notes))


def test_a_clean_take_has_nothing_to_mend() -> None:
    assert faults_of(CLEAN) == ()
    assert is_clean(CLEAN)


@pytest.mark.parametrize(
    ("take", "fault"),
    [
        (replace(CLEAN, shift=1), Fault(FaultKind.PLACE, None, 8)),
        (
            with_notes(replace(NOTE, came=Came.MISSED), replace(NOTE, came=Came.WRONG)),
            Fault(FaultKind.NOTES, 1, 2),
        ),
        (with_notes(replace(SLUR, plucked=True, bar=3)), Fault(FaultKind.SLURS, 3, 1)),
        (with_notes(replace(NOTE, timing_ms=60.0, bar=2)), Fault(FaultKind.TIME, 2, 1)),
        (replace(CLEAN, extras=2), Fault(FaultKind.EXTRAS, None, 2)),
        (replace(CLEAN, drift_percent=-6.0), Fault(FaultKind.DRIFT, None, 8)),
    ],
)
def test_each_fault_is_named_with_its_bar_and_keeps_the_take_from_being_clean(
    take: TakeOutcome, fault: Fault
) -> None:
    assert faults_of(take) == (fault,)
    assert not is_clean(take)


def test_uneven_notes_point_to_the_bar_that_strays_most() -> None:
    take = replace(with_notes(*[replace(NOTE, bar=4, timing_ms=25.0)] * 3), spread_ms=20.0)

    assert faults_of(take) == (Fault(FaultKind.TIME, 4, 3),)


def test_the_gravest_fault_comes_first() -> None:
    take = replace(
        with_notes(replace(NOTE, came=Came.WRONG), replace(SLUR, plucked=True)), extras=1, drift_percent=9
    )

    assert [fault.kind for fault in faults_of(take)] == [
        FaultKind.NOTES, FaultKind.SLURS, FaultKind.EXTRAS, FaultKind.DRIFT,
    ]  # fmt: skip


def test_being_out_of_tune_is_told_and_keeps_nobody_from_the_next_rung() -> None:
    take = with_notes(replace(NOTE, cents=22.0))

    assert [fault.kind for fault in faults_of(take)] == [FaultKind.TUNE]
    assert is_clean(take)


@pytest.mark.parametrize(
    ("interval_ms", "spread_ms", "clean"),
    [(100.0, 6.0, True), (100.0, 7.0, False), (500.0, 25.0, True), (500.0, 26.0, False)],
)
def test_nothing_finer_than_can_be_heard_or_than_a_steady_player_is_a_fault(
    interval_ms: float, spread_ms: float, clean: bool
) -> None:
    """6 ms below intervals of 240 ms, 2.5 % above (Friberg & Sundberg 1995); a steady player taps within some
    2-4 % (from memory)."""
    assert is_clean(replace(CLEAN, interval_ms=interval_ms, spread_ms=spread_ms)) is clean


def test_an_early_player_is_not_a_bad_player() -> None:
    """Taps lead a click by 20-80 ms (Repp 2005): the whole take early has no fault, since timing is told
    against the player's own pulse."""
    assert is_clean(replace(CLEAN, notes=tuple(replace(note, timing_ms=0.0) for note in CLEAN.notes)))


def test_what_could_not_be_told_is_no_fault_but_too_much_of_it_is_no_success() -> None:
    some = with_notes(*[replace(NOTE, came=Came.UNSURE)] * 2)
    much = with_notes(*[replace(NOTE, came=Came.UNSURE)] * 4)

    assert faults_of(much) == ()
    assert is_clean(some)
    assert not is_clean(much)


def test_a_take_that_breaks_off_is_no_success() -> None:
    assert not is_clean(replace(CLEAN, complete=False))


def test_slurs_are_measured_against_plucks() -> None:
    assert slur_level_db(CLEAN.notes) == -5.0
    assert slur_level_db([NOTE, NOTE]) is None
    assert slur_level_db([NOTE, replace(SLUR, plucked=True)]) is None


def test_the_thresholds_are_those_of_the_ear() -> None:
    assert faults.JUST_HEARD_MS == 1000 * pulse.JUST_HEARD_S
    assert faults.JUST_HEARD_SHARE == pulse.JUST_HEARD_SHARE
    assert faults.EVEN_SHARE == headline._EVEN_SHARE
    assert faults.OFF_SHARE == headline._OFF_SHARE
    assert faults.DRIFT_PERCENT == headline._DRIFT_PERCENT
    assert faults.OUT_OF_TUNE_CENTS == headline._OUT_OF_TUNE_CENTS
    assert faults.MOST_UNSURE == headline._MANY_UNSURE
