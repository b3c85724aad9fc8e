"""Rows of steady notes that belong to no exercise."""

import numpy as np

from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.track_rehear import Demonstration
from fretwright.ear.track_scan import Scan
from fretwright.ear.track_unlisted import unlisted
from fretwright.ear.verdicts import HeardNote, Verdict

VOICE = 0


def scanned(*sounds: tuple[float, int], clear: float = 12.0) -> Scan:
    """Sounds at these times: the pitch that stands still, or :data:`VOICE`; and the log odds of each."""
    odds = np.full((len(sounds), PITCHES), -5.0, np.float32)
    for place, (_, midi) in enumerate(sounds):
        odds[place, (midi or 50) - LOWEST_MIDI] = clear
    steady = np.array([midi for _, midi in sounds])
    return Scan(np.array([time_s for time_s, _ in sounds]), odds, steady, 60.0, 0.5)


def test_slow_playing_is_one_row_though_slurs_between_its_notes_go_unheard() -> None:
    (row,) = unlisted(
        scanned((1.0, 57), (2.2, 59), (9.0, 60), (10.2, 62), (18.0, 64), (19.2, 62), (20.4, 60)), ()
    )

    assert (row.start_s, row.end_s) == (1.0, 20.4)
    assert row.midi == (57, 59, 60, 62, 64, 62, 60)


def test_talk_with_a_steady_sound_now_and_then_is_no_row() -> None:
    talk = [(0.3 * number, 57 if number % 4 == 0 else VOICE) for number in range(100)]

    assert unlisted(scanned(*talk), ()) == ()


def test_a_voice_that_stands_still_in_a_room_but_begins_unclearly_is_no_row() -> None:
    # a quarter of what stands still of a synthesiser's voice in a room of 0.4 s has odds below 7 (measured)
    talk = [(0.4 * number, 45) for number in range(20)]

    assert unlisted(scanned(*talk, clear=7.0), ()) == ()
    assert len(unlisted(scanned(*talk), ())) == 1


def test_talk_between_two_rows_parts_them() -> None:
    notes = [57, 59, 60, 62, 64, 62, 60]
    first = [(0.5 * number, midi) for number, midi in enumerate(notes)]
    talk = [(4.0 + 0.3 * number, VOICE) for number in range(12)]
    second = [(9.0 + 0.5 * number, midi) for number, midi in enumerate(notes)]

    rows = unlisted(scanned(*first, *talk, *second), ())

    assert [(row.start_s, row.end_s) for row in rows] == [(0.0, 3.0), (9.0, 12.0)]


def test_no_row_goes_on_behind_a_demonstration() -> None:
    starts = [(0.0, 57), (0.5, 59), (1.0, 60), (8.0, 57), (8.5, 59), (9.0, 60)]
    notes = tuple(HeardNote(f"b1t{place}s3", Verdict.PLAYED, 0.9, onset_s=2.0 + place) for place in range(4))
    played = Demonstration("up", 0, notes, (), 60.0, True, 1.5, 6.5, True)

    # broken off before, and again after: neither is long enough to be told
    assert unlisted(scanned(*starts), (played,)) == ()
    assert len(unlisted(scanned(*starts), ())) == 1
