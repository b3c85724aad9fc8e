"""What each hand does to each string, turned into the inputs of the string's loop.

A contact is one touch of one string, in samples. Its neighbours on the same string decide how it starts
and ends:

* a pluck stops the string for a moment before it (pick or finger lies on it), then lets it go;
* a hammer-on shortens the sounding string within a few milliseconds and adds the small tap of a finger;
* a pull-off lengthens it and adds a small sideways release where the finger was;
* a slide passes every fret on its way and arrives on its own onset;
* a bend or a vibrato tightens it; a palm or a flat finger lies on it while it sounds;
* a note that is followed by nothing is damped by flesh within a tenth of a second.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi
from typing import Final

import numpy as np

from fretwright.sound.arrays import Counts, Floats
from fretwright.sound.contacts import Contact, OpenString, sample
from fretwright.sound.damping import damping
from fretwright.sound.feeding import track
from fretwright.sound.instrument import Voice
from fretwright.sound.lengths import lengths
from fretwright.sound.loop import sections_for

_TURNED_DOWN: Final = 240
"""How long before a swell the volume goes down, in samples."""


@dataclass(frozen=True, slots=True)
class StringPart:
    """Everything the kernel needs to sound one string."""

    track: Floats
    """Excitation, shape (n,)."""
    steps: Counts
    controls: tuple[Floats, Floats]
    """Coefficients of the two directions of motion, each (rows, columns of the kernel)."""
    sections: int
    pickup_delay: int
    volume: Floats | None
    """What the string's sound is multiplied with, shape (n,); None where the volume stays up."""


def string_part(string: OpenString, contacts: Sequence[Contact], voice: Voice, samples: int) -> StringPart:
    """Plan one string's part; ``contacts`` are in order of onset, ``samples`` is the length of the sound."""
    delay = string.echo(voice.pickup.from_bridge_mm) if voice.pickup else 0
    held = damping(contacts, samples)
    held_at = [at for at, _ in held]
    length_at, both_sides = lengths(string, contacts, voice, samples)
    steps = np.unique(np.concatenate([np.array(held_at, dtype=np.int64), length_at]))
    factor = np.interp(steps, held_at, [value for _, value in held])
    controls = [
        np.ascontiguousarray(
            np.stack([*(np.interp(steps, length_at, column) for column in rows.T), factor], axis=1)
        )
        for rows in both_sides
    ]
    return StringPart(
        track(string, contacts, voice, samples),
        steps,
        (controls[0], controls[1]),
        sections_for(string.hz),
        delay,
        _volume(contacts, samples),
    )


def _volume(contacts: Sequence[Contact], samples: int) -> Floats | None:
    """Up, but for swells, which rise from nothing along a quarter of a turn, squared."""
    if not any(contact.touch.swells_s for contact in contacts):
        return None
    volume = np.ones(samples)
    for contact in contacts:
        if not contact.touch.swells_s:
            continue
        onset, rise = contact.onset, max(2, sample(contact.touch.swells_s))
        down = volume[max(0, onset - _TURNED_DOWN) : onset]
        down *= np.linspace(1.0, 0.0, len(down))
        up = volume[onset : onset + rise]
        up *= np.sin(np.linspace(0.0, pi / 2, rise))[: len(up)] ** 2
    return volume
