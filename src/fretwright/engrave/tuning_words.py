"""Tuning in words: what to press or touch, what to listen for, and how exact it is."""

from typing import Final

from fretwright.engrave.walkthrough_words import fret_words, number, ordinal, sentence
from fretwright.fretboard.tuning import Tuning
from fretwright.fretboard.tuning_steps import Compared, TuningStep, steps_by_harmonics
from fretwright.theory.pitch import Pitch

BEATS: Final = (
    "Two tones that are nearly alike swell and fade: they beat. The nearer they come to each other, the "
    "slower the beats; where they stop, the two are alike. Turn the peg slowly and always come up to the "
    "note from below."
)
"""What to listen for."""
_HEARD_OF_CENTS: Final = 0.05
"""Errors below this are none."""


def reference_words(pitch: Pitch, string: int) -> str:
    """One reference tone: ``Sixth string, E two: 82.41 hertz``."""
    return f"{ordinal(string).capitalize()} string, {pitch.spoken}: {pitch.frequency_hz():.2f} Hz"


def fret_step_words(step: TuningStep) -> str:
    """How a string is tuned by a fretted one."""
    return sentence(
        f"{_pressed(step.reference)} and tune {_pressed(step.own, is_own=True)} to it, until both sound alike"
    )


def harmonic_step_words(step: TuningStep) -> str:
    """How a string is tuned by harmonics, with the error that comes of it."""
    told = sentence(f"{_touched(step.reference)}, and {_touched(step.own)}; tune until they stop beating")
    side = "flat" if step.off_cents < 0 else "sharp"
    return f"{told} The string is then {abs(step.off_cents):.2f} cents {side}{_in_all(step)}."


def _in_all(step: TuningStep) -> str:
    """What the errors of the strings before add; nothing where there are none."""
    in_all = step.off_in_all_cents
    if abs(in_all - step.off_cents) < _HEARD_OF_CENTS:
        return ""
    if abs(in_all) < _HEARD_OF_CENTS:
        return " against its neighbour, which makes up for the one before"
    return f", and {abs(in_all):.1f} {'flat' if in_all < 0 else 'sharp'} with the strings before it"


def harmonics_caution(tuning: Tuning) -> str:
    """Why harmonics alone do not tune a fretted instrument; empty where no string is tuned so."""
    steps = steps_by_harmonics(tuning)
    if not steps:
        return ""
    first = steps[0]
    worst = max(steps, key=lambda step: abs(step.off_in_all_cents))
    side = "flat" if worst.off_in_all_cents < 0 else "sharp"
    per_beat = 1 / first.beats_per_s
    return (
        "Harmonics are whole multiples of a string's own tone, frets are not: a fourth between harmonics is "
        "1.96 cents smaller than one between frets, and a fifth as much larger. Tuned until nothing beats, "
        f"the {ordinal(worst.string)} string ends {abs(worst.off_in_all_cents):.1f} cents {side}. Where the "
        f"frets are to be in tune, let the harmonics of the {ordinal(first.string)} string beat once in "
        f"{per_beat:.1f} seconds."
    )


def left_out_words(tuning: Tuning) -> str:
    """Which strings no harmonics serve; empty where there is none."""
    served = {step.string for step in steps_by_harmonics(tuning)} | {tuning.string_count}
    left = [ordinal(string) for string in reversed(tuning.strings) if string not in served]
    if not left:
        return ""
    strings = f"the {' and the '.join(left)} string"
    return sentence(f"no harmonics serve for {strings}; tune {'it' if len(left) == 1 else 'them'} by frets")


def _pressed(compared: Compared, *, is_own: bool = False) -> str:
    place = compared.place
    string = f"{ordinal(place.string)} string"
    if not place.fret:
        return f"the open {string}" if is_own else f"play the open {string}"
    return f"{'' if is_own else 'press '}the {string} at {fret_words(place.fret)}"


def _touched(compared: Compared) -> str:
    place = compared.place
    if not compared.is_harmonic:
        return f"play the open {ordinal(place.string)} string"
    return f"touch the {ordinal(place.string)} string over fret {number(place.fret)}"
