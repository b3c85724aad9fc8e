"""Notes one after another as a MIDI file, for a synthesiser to play from recorded guitars."""

import struct
from collections.abc import Iterable
from typing import Final

_TICKS_PER_SECOND: Final = 960
"""480 ticks to a quarter note at 120 beats a minute."""


def midi_file(program: int, notes: Iterable[tuple[int, int]], hold_s: float, gap_s: float) -> bytes:
    """A standard MIDI file of notes, each a key and its velocity, held and then left out for so long.

    ``program`` is a General MIDI program counted from 0.
    """
    track = _delta(0) + bytes([0xC0, program])
    wait = 0
    for key, velocity in notes:
        track += _delta(wait) + bytes([0x90, key, velocity])
        track += _delta(round(hold_s * _TICKS_PER_SECOND)) + bytes([0x80, key, 0])
        wait = round(gap_s * _TICKS_PER_SECOND)
    track += _delta(wait) + b"\xff\x2f\x00"
    header = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480)
    return header + b"MTrk" + struct.pack(">I", len(track)) + track


def _delta(ticks: int) -> bytes:
    """A variable-length quantity."""
    groups = [ticks & 0x7F]
    while ticks := ticks >> 7:
        groups.append((ticks & 0x7F) | 0x80)
    return bytes(reversed(groups))
