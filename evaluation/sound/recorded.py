"""Notes of recorded guitars, from a free sound font played by a general synthesiser.

Only the evaluation uses them; nothing of them is in the package.
"""

import struct
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from shutil import which

import numpy as np
import soundfile
from evaluation.sound.measure import RATE_HZ, Floats

SOUND_FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
PROGRAMS = {"nylon": 24, "steel": 25, "jazz": 26, "clean": 27}
"""General MIDI programs, counted from 0."""

_TICKS_PER_SECOND = 960
_HOLD_S, _GAP_S = 2.5, 1.0


def require() -> None:
    """Leave with the name of the missing Debian package, if one is missing."""
    missing = [
        package
        for package, there in (
            ("fluidsynth", which("fluidsynth") is not None),
            ("fluid-soundfont-gm", SOUND_FONT.exists()),
        )
        if not there
    ]
    if missing:
        sys.exit(f"The recorded guitars are missing: apt-get install {' '.join(missing)}")


def recorded_notes(program: int, keys: Iterable[int]) -> dict[int, Floats]:
    """Each note on its own, held for 2.5 s, both channels as one, without reverb or chorus."""
    order = list(keys)
    with tempfile.TemporaryDirectory() as folder:
        midi, wave = Path(folder) / "notes.mid", Path(folder) / "notes.wav"
        midi.write_bytes(_midi_file(program, order))
        command = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", str(RATE_HZ)]
        subprocess.run(
            [*command, "-F", str(wave), str(SOUND_FONT), str(midi)], check=True, capture_output=True
        )
        samples, _ = soundfile.read(wave)
    mono = samples.mean(axis=1)
    starts = [round(index * (_HOLD_S + _GAP_S) * RATE_HZ) for index in range(len(order))]
    length = round(_HOLD_S * RATE_HZ)
    return {key: np.array(mono[start : start + length]) for key, start in zip(order, starts, strict=True)}


def _midi_file(program: int, keys: Iterable[int]) -> bytes:
    """A standard MIDI file at 480 ticks per quarter and 120 bpm."""
    track = _delta(0) + bytes([0xC0, program])
    wait = 0
    for key in keys:
        track += _delta(wait) + bytes([0x90, key, 100])
        track += _delta(round(_HOLD_S * _TICKS_PER_SECOND)) + bytes([0x80, key, 0])
        wait = round(_GAP_S * _TICKS_PER_SECOND)
    track += _delta(wait) + b"\xff\x2f\x00"
    header = b"MThd" + struct.pack(">IHHH", 6, 0, 1, 480)
    return header + b"MTrk" + struct.pack(">I", len(track)) + track


def _delta(ticks: int) -> bytes:
    """A variable-length quantity."""
    groups = [ticks & 0x7F]
    while ticks := ticks >> 7:
        groups.append((ticks & 0x7F) | 0x80)
    return bytes(reversed(groups))
