"""Single notes of recorded guitars, from a free sound font (Debian's fluid-soundfont-gm).

Each note of a General MIDI guitar is played alone by a general synthesiser, without reverb or chorus, at
two strengths. Only the evaluation uses them; nothing of them is in the package. They are kept under
``build/ear`` once made.
"""

import subprocess
import sys
import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from shutil import which
from typing import Final

import numpy as np
import soundfile
from evaluation.ear.pitch_of_notes import deviation_of
from evaluation.single_notes import midi_file
from numpy.typing import NDArray

Floats = NDArray[np.float64]

RATE_HZ: Final = 44_100
SOUND_FONT: Final = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
PROGRAMS: Final = {
    "nylon": 24,
    "steel": 25,
    "jazz": 26,
    "clean": 27,
    "muted": 28,
    "overdriven": 29,
    "distorted": 30,
    # for the backing, and to learn from
    "bass": 33,
    "keys": 4,
    # to learn from alone: other strings and bars that are struck and die away
    "picked bass": 34,
    "piano": 0,
    "harpsichord": 6,
    "clavinet": 7,
    "vibraphone": 11,
    "dulcimer": 15,
    "pizzicato": 45,
    "harp": 46,
    "sitar": 104,
    "banjo": 105,
    "shamisen": 106,
    "koto": 107,
    "kalimba": 108,
    # to calibrate with: nothing learns from them
    "electric grand": 2,
    "electric piano": 5,
    "celesta": 8,
    "marimba": 12,
    "slap bass": 37,
}
"""General MIDI programs, counted from 0."""
_GUITARS: Final = ("nylon", "steel", "jazz", "clean", "muted", "overdriven", "distorted")
TUNED_ON: Final = ("steel", "clean", "overdriven")
"""Guitars that the ear's constants were set with."""
CALIBRATED_ON: Final = ("electric grand", "electric piano", "celesta", "marimba", "slap bass")
"""They stand for a guitar that no weight has seen: how often is a verdict on such a one right?"""
ALSO_LEARNT_FROM: Final = tuple(name for name in PROGRAMS if name not in (*_GUITARS, *CALIBRATED_ON))
"""Other instruments, so that the weights learn what a struck string is and not what three guitars are."""
REPORTED_ON: Final = ("nylon", "jazz", "distorted", "muted")
"""Guitars that no weight has seen: the figures are theirs. Some constants were set after a look at them."""

LOWEST, HIGHEST = 40, 88
STRENGTHS: Final = (72, 108)
"""MIDI velocities."""
_HOLD_S, _GAP_S = 2.0, 0.4
_CACHE = Path("build") / "ear"
_QUIET_DB = -26.0
_ATTACK_S = 0.12
_LEAST_LIKENESS = 1e-3


@dataclass(frozen=True, slots=True)
class RecordedNote:
    """One plucked note, from its onset."""

    samples: Floats
    """Mono, at :data:`RATE_HZ`, scaled so that its attack's RMS is 1."""
    midi: int
    cents: float
    """How far the recording itself lies from equal temperament."""
    is_pitched: bool
    """Whether two ways of measuring that agree; some driven and damped strings have no pitch to the cent."""


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


@lru_cache(maxsize=4096)
def recorded_note(guitar: str, midi: int, strength: int) -> RecordedNote:
    """One note of a guitar, cut so that it starts where it exceeds -26 dB of its attack's peak."""
    whole = _whole(guitar)
    index = STRENGTHS.index(strength) * (HIGHEST - LOWEST + 1) + (midi - LOWEST)
    length = round((_HOLD_S + _GAP_S) * RATE_HZ)
    piece = whole[index * length : (index + 1) * length].astype(np.float64) / 32768.0
    peak = np.abs(piece[: round(_ATTACK_S * RATE_HZ) + 500]).max()
    start = int(np.argmax(np.abs(piece) > peak * 10 ** (_QUIET_DB / 20)))
    note = piece[start : start + round(_HOLD_S * RATE_HZ)]
    attack = note[: round(_ATTACK_S * RATE_HZ)]
    note = note / max(float(np.sqrt(np.mean(attack**2))), _LEAST_LIKENESS)
    cents, is_pitched = deviation_of(note, midi)
    return RecordedNote(note, midi, cents, is_pitched)


@lru_cache(maxsize=16)
def _whole(guitar: str) -> NDArray[np.int16]:
    """All notes of a guitar, one after another."""
    path = _CACHE / f"{guitar}.npy"
    if not path.exists():
        require()
        path.parent.mkdir(parents=True, exist_ok=True)
        np.save(path, _played(PROGRAMS[guitar]))
    loaded: NDArray[np.int16] = np.load(path, mmap_mode="r")
    return loaded


def _played(program: int) -> NDArray[np.int16]:
    with tempfile.TemporaryDirectory() as folder:
        midi, wave = Path(folder) / "notes.mid", Path(folder) / "notes.wav"
        notes = [(key, strength) for strength in STRENGTHS for key in range(LOWEST, HIGHEST + 1)]
        midi.write_bytes(midi_file(program, notes, _HOLD_S, _GAP_S))
        command = ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.5", "-r", str(RATE_HZ)]
        subprocess.run(
            [*command, "-F", str(wave), str(SOUND_FONT), str(midi)], check=True, capture_output=True
        )
        samples, _ = soundfile.read(wave, dtype="float32")
    mono = samples.mean(axis=1)
    length = round((_HOLD_S + _GAP_S) * RATE_HZ) * len(STRENGTHS) * (HIGHEST - LOWEST + 1)
    whole = np.zeros(length, dtype=np.float32)
    whole[: min(length, len(mono))] = mono[:length]
    cut: NDArray[np.int16] = np.clip(np.rint(whole * 32767), -32768, 32767).astype(np.int16)
    return cut
