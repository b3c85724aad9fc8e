"""A teacher's talk, spoken by a free synthesiser (Debian's espeak-ng); only the evaluation uses it."""

import subprocess
import sys
import tempfile
from functools import lru_cache
from pathlib import Path
from shutil import which
from typing import Final

import numpy as np
import soundfile
import soxr
from evaluation.ear.guitars import RATE_HZ, Floats

VOICES: Final = ("en-gb+m1", "en-us+f2", "en-gb+f4", "en-us+m3", "en-gb-scotland+m7")
TALK: Final = (
    "Welcome back. Last time we left the hand on the fifth fret, and that is where we go on.",
    "Listen first, and watch which finger comes down.",
    "Now the same thing a little faster.",
    "Sorry, once more from the top.",
    "That was too quick. Again.",
    "Keep the thumb low behind the neck, and let the wrist hang. If anything hurts, stop and shake it out.",
    "Good. So that is the first one, and I would stay with it for two or three days before moving on.",
    "The next one looks harder than it is.",
    "Hear how the second note is as loud as the one before it?",
    "One, two, three, four.",
    "Right.",
    "And that is all of it. See you in a few days.",
    "If you only have five minutes, play this one slowly, and nothing else.",
    "Don't press any harder than you have to. Most of us press far too hard.",
)


def require() -> None:
    """Leave with the name of the missing Debian package, if it is missing."""
    if which("espeak-ng") is None:
        sys.exit("The voice is missing: apt-get install espeak-ng")


@lru_cache(maxsize=256)
def spoken(words: str, voice: str, words_a_minute: int) -> Floats:
    """The words as sound, mono at the guitars' rate, peak 0.5, without silence at either end."""
    with tempfile.TemporaryDirectory() as folder:
        wave = Path(folder) / "said.wav"
        command = ["espeak-ng", "-v", voice, "-s", str(words_a_minute), "-w", str(wave)]
        subprocess.run([*command, words], check=True, capture_output=True)
        samples, rate = soundfile.read(wave, dtype="float64")
    loud = np.flatnonzero(np.abs(samples) > 0.01 * np.abs(samples).max())
    moved: Floats = soxr.resample(samples[loud[0] : loud[-1] + 1], rate, RATE_HZ)
    moved *= 0.5 / np.abs(moved).max()
    return moved
