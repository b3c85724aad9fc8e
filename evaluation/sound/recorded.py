"""Notes of recorded guitars, from a free sound font played by a general synthesiser.

Only the evaluation uses them; nothing of them is in the package.
"""

import subprocess
import sys
import tempfile
from collections.abc import Iterable
from pathlib import Path
from shutil import which

import numpy as np
import soundfile
from evaluation.single_notes import midi_file
from evaluation.sound.measure import RATE_HZ, Floats

SOUND_FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
PROGRAMS = {
    "nylon": 24, "steel": 25, "jazz": 26, "clean": 27, "overdriven": 29, "distorted": 30,
    "fingered bass": 33, "picked bass": 34,
}  # fmt: skip
"""General MIDI programs, counted from 0."""

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
        midi.write_bytes(midi_file(program, [(key, 100) for key in order], _HOLD_S, _GAP_S))
        command = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.6", "-r", str(RATE_HZ)]
        subprocess.run(
            [*command, "-F", str(wave), str(SOUND_FONT), str(midi)], check=True, capture_output=True
        )
        samples, _ = soundfile.read(wave)
    mono = samples.mean(axis=1)
    starts = [round(index * (_HOLD_S + _GAP_S) * RATE_HZ) for index in range(len(order))]
    length = round(_HOLD_S * RATE_HZ)
    return {key: np.array(mono[start : start + length]) for key, start in zip(order, starts, strict=True)}
