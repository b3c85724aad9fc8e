"""Strings to learn from: strokes of the guitars that may be learnt from, and whether each string sounds.

Every written string of every stroke is drawn, and beside it pitches that its string could sound by mistake.
Faults are far commoner here than in any take; the ear puts the usual odds back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import soxr
from evaluation.ear.chords.exercises import exercise
from evaluation.ear.chords.performing import SILENT, Manner, Performance, Struck, perform
from evaluation.ear.chords.sounding import sound_of
from evaluation.ear.chords.voices import Voice, made_up, recorded, shifted
from evaluation.ear.corrupting import CORRUPTIONS, noise
from evaluation.ear.drawing import toned
from evaluation.ear.guitars import ALSO_LEARNT_FROM, TUNED_ON
from evaluation.ear.guitars import RATE_HZ as TAKE_RATE_HZ
from numpy.typing import NDArray

from fretwright.ear.candidates import Candidates, find_candidates
from fretwright.ear.features import HIGHEST_MIDI, LOWEST_MIDI, tuning_of
from fretwright.ear.strings import describe_string, read_strokes, ringing_into, slips_of
from fretwright.ear.strokes import STEP_S, band_powers, describe_strokes
from fretwright.ear.take import RATE_HZ

_MADE_UP: Final = 0.5
"""Share of takes on a guitar that never was."""
_ANOTHER_INSTRUMENT: Final = 0.4
"""Of the rest, share on other struck instruments."""
_AS_RECORDED: Final = 0.2
HELD_BACK: Final = ("koto", "banjo")
"""Instruments that are not learnt from, to see when learning turns into learning by heart."""
_LEARNT_BESIDE: Final = tuple(name for name in ALSO_LEARNT_FROM if name not in HELD_BACK)
_EARLY_S: Final = 0.025
_A_CANDIDATE: Final = 0.6
_LATE_S: Final = 0.006
"""How far off a stroke's onset may be known (one standard deviation)."""


@dataclass(frozen=True, slots=True)
class Material:
    """What is learnt from."""

    numbers: NDArray[np.float16]
    """Shape (strings, COUNT)."""
    sounds: NDArray[np.bool_]
    written: NDArray[np.bool_]
    """Whether it is the pitch that is written, or one that the string might sound by mistake."""
    faults: NDArray[np.int8]
    """0 none, else 1 + the place in :data:`~evaluation.ear.chords.performing.FAULTS`."""
    strokes: NDArray[np.float16]
    """Shape (strokes, NUMBERS)."""
    times_s: NDArray[np.float32]
    """Onset of each stroke after the moment that was looked at, and its spread, shape (strokes, 2)."""


def drawn(seed: int, index: int, guitars: Sequence[str] = ()) -> Material:
    """The strings and strokes of one take, of one of ``guitars`` if given."""
    rng = np.random.default_rng([seed, index])
    voice = recorded(guitars[int(rng.integers(len(guitars)))]) if guitars else _voice(rng)
    _, score = exercise(rng)
    manner = Manner(
        tempo_ratio=float(rng.uniform(0.6, 1.4)),
        faults=0.25,
        missed=0.03,
        gap_s=float(10 ** rng.uniform(-2.7, -1.85)),
        level_spread_db=float(rng.uniform(1, 3)),
    )
    performance = perform(score, manner, rng)
    # a hand that rests on the strings, from a palm's mute to a light touch
    damped_s = float(10 ** rng.uniform(-1.4, 0.6)) if rng.random() < 0.3 else np.inf
    cents = float(rng.uniform(-12, 12))
    samples = sound_of(performance, voice, cents, rng, damped_s)
    samples = noise(float(rng.uniform(14, 35)))(samples, rng)
    if rng.random() < 0.5:
        chosen = [name for name in CORRUPTIONS if name != "offset"]
        samples = CORRUPTIONS[str(rng.choice(chosen))](samples, rng)
    if not guitars or rng.random() < 0.5:
        samples = toned(samples, rng)
    heard = soxr.resample(samples.astype(np.float32), TAKE_RATE_HZ, RATE_HZ, quality="MQ")
    return _labelled(np.asarray(heard, dtype=np.float32), performance, rng)


def _voice(rng: np.random.Generator) -> Voice:
    if rng.random() < _MADE_UP:
        return made_up(rng)
    names = _LEARNT_BESIDE if rng.random() < _ANOTHER_INSTRUMENT else TUNED_ON
    name = names[int(rng.integers(len(names)))]
    return recorded(name) if rng.random() < _AS_RECORDED else shifted(name, int(rng.integers(-7, 8)), rng)


def _labelled(samples: NDArray[np.float32], performance: Performance, rng: np.random.Generator) -> Material:
    strokes = [one for one in performance.strokes if one.event is not None]
    found = find_candidates(samples)
    onsets = np.array([one.onset_s for one in strokes]) + rng.normal(0, _LATE_S, len(strokes))
    read = read_strokes(samples, onsets, tuning_of(samples, found.times_s[found.rise > 0.3]))
    numbers, sounds, written, faults = [], [], [], []
    for place, one in enumerate(strokes):
        ringing = ringing_into(performance.expected, performance.events, one.event or 0)
        asked = [performance.expected[each.expected or 0].note for each in one.strings]
        for each, note in zip(one.strings, asked, strict=True):
            others = [other.midi for other in asked if other is not note]
            slips = [midi for midi in slips_of(note) if midi not in others]
            picked = [note.midi, *([each.midi] if each.fault == "wrong" and each.midi in slips else [])]
            picked += [int(rng.choice(slips))] if slips else []
            for midi in dict.fromkeys(picked):
                if not LOWEST_MIDI <= midi <= HIGHEST_MIDI:
                    continue
                numbers.append(describe_string(read, place, midi, others, ringing))
                sounds.append(midi in _struck(one))
                written.append(midi == note.midi)
                faults.append(0 if each.fault is None else 1 + ("dead", SILENT, "wrong").index(each.fault))
    return Material(
        np.array(numbers, dtype=np.float16),
        np.array(sounds),
        np.array(written),
        np.array(faults, dtype=np.int8),
        *_timed(samples, found, strokes, rng),
    )


def _timed(
    samples: NDArray[np.float32], found: Candidates, strokes: Sequence[Struck], rng: np.random.Generator
) -> tuple[NDArray[np.float16], NDArray[np.float32]]:
    """Numbers of each stroke at one of the candidates about it, and its times from there."""
    moments = []
    for one in strokes:
        away = found.times_s - one.onset_s
        near = np.flatnonzero((away > -_EARLY_S) & (away < one.spread_s + _EARLY_S))
        if len(near) and rng.random() < _A_CANDIDATE:
            at_s = float(found.times_s[near[int(found.rise[near].argmax())]])
        else:
            at_s = one.onset_s + float(rng.uniform(-_EARLY_S, one.spread_s + _EARLY_S))
        moments.append(round(at_s / STEP_S) * STEP_S)
    numbers = describe_strokes(band_powers(samples), np.array(moments))
    times = [(one.onset_s - moment, one.spread_s) for one, moment in zip(strokes, moments, strict=True)]
    return numbers.astype(np.float16), np.array(times, dtype=np.float32)


def _struck(one: Struck) -> set[int]:
    return {each.midi for each in one.strings if each.fault in {None, "wrong"}}
