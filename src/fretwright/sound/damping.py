"""What lies on a string besides the finger that stops it: pick, flesh, or nothing."""

from collections.abc import Sequence
from typing import Final

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.sound.contacts import Contact
from fretwright.sound.slides import slide_out

_FREE, _ASLEEP = 1.0, 0.0
_STOPPED: Final = 0.03
"""Factor per round trip while pick or finger lies on the string."""
_STOP_RAMP: Final = 150
_LET_GO: Final = 24
_RELEASE_T60_S: Final = 0.07
_SLID_AWAY_T60_S: Final = 0.25
"""What is left of the ringing where a finger has slid away: its pressure goes with it."""
_RELEASE_RAMP: Final = 480
_RELEASE_SAMPLES: Final = 14_400
"""After this the string is at rest and costs nothing."""

Rows = list[tuple[int, float]]


def damping(contacts: Sequence[Contact], samples: int) -> Rows:
    """Breakpoints of the damping factor, in strictly rising order of time."""
    rows: Rows = [(0, _ASLEEP if contacts[0].onset > 0 else _free(contacts[0]))]

    def add(at: int, value: float) -> None:
        if at > rows[-1][0]:
            rows.append((at, value))

    for contact, after in zip(contacts, [*contacts[1:], None], strict=True):
        free = _free(contact)
        if rows[-1][1] == _ASLEEP:
            add(contact.onset - 1, _ASLEEP)
            add(contact.onset, free)
        else:
            add(contact.onset, rows[-1][1])
            add(contact.onset + _LET_GO, free)
        next_onset = samples + _RELEASE_SAMPLES if after is None else after.onset
        leaving = slide_out(contact)
        if leaving and leaving.start + leaving.length < next_onset:
            add(leaving.start, free)
            add(leaving.start + leaving.length, _factor(contact, _SLID_AWAY_T60_S))
        stop = _stop_samples(contact, next_onset)
        if next_onset - contact.end > stop:
            _release(rows, contact, next_onset)
        elif after is not None and not after.attack.is_slur:
            add(next_onset - stop, rows[-1][1])
            add(next_onset - stop + min(_STOP_RAMP, stop // 2), _STOPPED)
    add(max(samples, rows[-1][0] + 1), rows[-1][1])
    return rows


def _free(contact: Contact) -> float:
    return _STOPPED if contact.is_dead else _FREE


def _factor(contact: Contact, t60_s: float) -> float:
    """Factor per round trip that makes a string die away so fast."""
    return float(10.0 ** (-3.0 / (contact.hz * t60_s)))


def _stop_samples(contact: Contact, next_onset: int) -> int:
    """How long the picking hand lies on the string before it plucks: one round trip and a little."""
    wanted = SAMPLE_RATE_HZ / contact.hz + 1.5 * _STOP_RAMP
    return int(min(wanted, 0.3 * (next_onset - contact.onset)))


def _release(rows: Rows, contact: Contact, next_onset: int) -> None:
    """Damp a note that nothing follows, and let the string sleep if there is time to."""
    start = max(contact.end, rows[-1][0] + 1)
    # Flesh is off the string again when it is plucked next, however soon: that pluck must ring.
    down = min(start + _RELEASE_RAMP, next_onset - 1)
    if down <= start:
        return
    now = rows[-1][1]
    damped = min(now, max(_STOPPED, _factor(contact, _RELEASE_T60_S)))
    asleep = start + _RELEASE_SAMPLES
    rows.append((start, now))
    rows.append((down, damped))
    if asleep < next_onset - 2:
        rows.append((asleep, damped))
        rows.append((asleep + 1, _ASLEEP))
