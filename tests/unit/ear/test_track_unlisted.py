"""Rows of steady notes that belong to no exercise."""

import numpy as np

from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.track_scan import Scan
from fretwright.ear.track_unlisted import unlisted

VOICE = 0


def scanned(*sounds: tuple[float, int]) -> Scan:
    """Sounds at these times: the pitch that stands still, or :data:`VOICE`."""
    odds = np.full((len(sounds), PITCHES), -5.0, np.float32)
    for place, (_, midi) in enumerate(sounds):
        odds[place, (midi or 50) - LOWEST_MIDI] = 12.0
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


def test_talk_between_two_rows_parts_them() -> None:
    notes = [57, 59, 60, 62, 64, 62, 60]
    first = [(0.5 * number, midi) for number, midi in enumerate(notes)]
    talk = [(4.0 + 0.3 * number, VOICE) for number in range(12)]
    second = [(9.0 + 0.5 * number, midi) for number, midi in enumerate(notes)]

    rows = unlisted(scanned(*first, *talk, *second), ())

    assert [(row.start_s, row.end_s) for row in rows] == [(0.0, 3.0), (9.0, 12.0)]
