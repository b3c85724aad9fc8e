"""Moments to learn from: takes of the guitars that may be learnt from, with what starts at each moment.

Lines and chords under every corruption, with other seeds than the evaluation's. Tone and drive are varied
widely, and other struck instruments stand in for a part of the guitars, so that no guitar's own sound is
learnt.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import soxr
from evaluation.ear.corrupting import CORRUPTIONS, noise
from evaluation.ear.guitars import ALSO_LEARNT_FROM, STRENGTHS, TUNED_ON, Floats, recorded_note
from evaluation.ear.guitars import RATE_HZ as TAKE_RATE_HZ
from evaluation.ear.takes import CONDITIONS, take
from numpy.typing import NDArray

from fretwright.ear.candidates import at_moments, find_candidates
from fretwright.ear.features import (
    HIGHEST_MIDI,
    LOWEST_MIDI,
    PITCHES,
    Readings,
    read_spectra,
    tuning_of,
)
from fretwright.ear.take import RATE_HZ

NOTHING: Final = PITCHES
"""Label of a moment at which no note starts."""
_NEAR_S: Final = 0.05
_CHORD_S: Final = 0.045
_A_CHORD: Final = 0.3
"""Share of takes that are strummed."""
_ANOTHER_INSTRUMENT: Final = 0.35
_SHAPES: Final = (
    (0, 1, 0, 2, 3, None), (3, 0, 0, 0, 2, 3), (0, 0, 1, 2, 2, 0), (0, 2, 2, 2, 0, None),
    (2, 3, 2, 0, None, None), (0, 1, 2, 2, 0, None), (0, 0, 0, 2, 2, 0), (1, 3, 2, 0, None, None),
    (1, 1, 2, 3, 3, 1), (2, 3, 4, 4, 2, None), (2, 2, 2, 4, 4, 2), (0, 0, 0, 2, 3, None),
    (None, None, None, 2, 2, 0), (None, None, None, 7, 7, 5), (3, 5, 5, 5, 3, None), (5, 5, 6, 7, 7, 5),
)  # fmt: skip
"""Frets from string 1 to 6 of usual chords, some open and some that can be moved (common practice)."""
_OPEN: Final = (64, 59, 55, 50, 45, 40)


@dataclass(frozen=True, slots=True)
class Sounding:
    """A note of a drawn take."""

    onset_s: float
    midi: int
    slurred: bool = False


@dataclass(frozen=True, slots=True)
class Moments:
    """What is learnt from: readings and labels of moments."""

    readings: Readings
    alone: NDArray[np.int64]
    """Index of the one pitch that starts, or :data:`NOTHING`; -1 where several start together."""
    among: NDArray[np.bool_]
    """Whether each pitch starts, shape (moments, PITCHES)."""


def drawn(seed: int, index: int) -> Moments:
    """The moments of one take."""
    rng = np.random.default_rng([seed, index])
    guitars = ALSO_LEARNT_FROM if rng.random() < _ANOTHER_INSTRUMENT else TUNED_ON
    guitar = guitars[int(rng.integers(len(guitars)))]
    if rng.random() < _A_CHORD:
        samples, soundings = _strummed(guitar, rng)
    else:
        samples, soundings = _line(guitar, rng)
    heard = soxr.resample(toned(samples, rng).astype(np.float32), TAKE_RATE_HZ, RATE_HZ, quality="MQ")
    return _labelled(np.asarray(heard, dtype=np.float32), soundings, rng)


def toned(samples: Floats, rng: np.random.Generator) -> Floats:
    """The take through another body, pickup and amplifier: a smooth random equaliser and some drive."""
    out = samples
    if rng.random() < 0.35:
        drive = 10 ** rng.uniform(0, 1.6)
        out = np.tanh(out * drive) / np.tanh(drive)
    spectrum = np.fft.rfft(out)
    hertz = np.maximum(np.fft.rfftfreq(len(out), 1 / TAKE_RATE_HZ), 20)
    knots = np.linspace(np.log(60), np.log(16_000), 9)
    gain_db = np.interp(np.log(hertz), knots, rng.normal(0, 6, len(knots)))
    changed: Floats = np.fft.irfft(spectrum * 10 ** (gain_db / 20), len(out))
    changed *= 0.6 / np.abs(changed).max()
    return changed


def _line(guitar: str, rng: np.random.Generator) -> tuple[Floats, list[Sounding]]:
    ringing = rng.random() < 0.3
    condition = "ringing" if ringing else str(rng.choice(CONDITIONS))
    # a hand that rests on the strings: from a light touch to a thud
    damped_s = float(10 ** rng.uniform(-1.6, 0)) if rng.random() < 0.3 else np.inf
    slurs = "crossfade" if rng.random() < 0.7 else "jump"
    one = take(condition, guitar, slurs, rng, faulty=bool(rng.random() < 0.7), name="", damped_s=damped_s)
    samples, offset_s = one.recorded.samples, one.recorded.offset_s
    if ringing and rng.random() < 0.5:
        corrupted = CORRUPTIONS[str(rng.choice(list(CORRUPTIONS)))](samples, rng)
        offset_s += (len(corrupted) - len(samples)) / TAKE_RATE_HZ
        samples = corrupted
    return samples, [
        Sounding(struck.onset_s + offset_s, struck.midi, struck.slurred) for struck in one.performance.struck
    ]


def _strummed(guitar: str, rng: np.random.Generator) -> tuple[Floats, list[Sounding]]:
    """Chords and parts of chords one after another, some strings dead, wrong or left out."""
    beat_s = float(rng.uniform(0.2, 0.9))
    count = int(rng.integers(8, 26))
    out = np.zeros(round((3.5 + count * beat_s) * TAKE_RATE_HZ))
    hand = _Hand(
        cents=float(rng.uniform(-12, 12)),
        damped_s=float(10 ** rng.uniform(-1.0, 0.6)),
        length_s=1.9 if rng.random() < 0.3 else beat_s * float(rng.uniform(0.5, 1.0)),
        faults=float(rng.choice([0.0, 0.12])),
    )
    soundings: list[Sounding] = []
    frets = _chord(rng)
    for index in range(count):
        if rng.random() < 0.4:
            frets = _chord(rng)
        at_s = 0.5 + index * beat_s + float(rng.normal(0, 0.006))
        spread_s = float(10 ** rng.uniform(-2.9, -1.7))
        for string in _swept(frets, rng):
            soundings += _strike(out, guitar, string, frets[string] or 0, at_s, hand, rng)
            at_s += spread_s
    out = noise(float(rng.uniform(12, 35)))(out[: round((1.0 + count * beat_s) * TAKE_RATE_HZ)], rng)
    if rng.random() < 0.5:
        names = [name for name in CORRUPTIONS if name != "offset"]
        out = CORRUPTIONS[str(rng.choice(names))](out, rng)
    return out, soundings


@dataclass(frozen=True, slots=True)
class _Hand:
    """How chords are held and struck."""

    cents: float
    damped_s: float
    length_s: float
    faults: float
    """Chance that a string is dead, wrong or left out."""


def _chord(rng: np.random.Generator) -> tuple[int | None, ...]:
    shape = _SHAPES[int(rng.integers(len(_SHAPES)))]
    moves = 0 if 0 in shape else int(rng.integers(-1, 8))
    return tuple(None if fret is None else fret + moves for fret in shape)


def _swept(frets: Sequence[int | None], rng: np.random.Generator) -> list[int]:
    """The strings of a stroke in order, down or up; now and then only some of them."""
    strings = [string for string, fret in enumerate(frets) if fret is not None]
    if rng.random() < 0.35:
        some = int(rng.integers(1, len(strings) + 1))
        first = int(rng.integers(0, len(strings) - some + 1))
        strings = strings[first : first + some]
    return strings if rng.random() < 0.4 else strings[::-1]


def _strike(
    out: Floats, guitar: str, string: int, fret: int, at_s: float, hand: _Hand, rng: np.random.Generator
) -> list[Sounding]:
    """Lay one string into the take; nothing is returned where no pitch sounds."""
    fault = rng.random()
    if fault < 0.35 * hand.faults:
        return []
    midi = _OPEN[string] + fret
    is_dead = fault < 0.7 * hand.faults
    if not is_dead and fault < hand.faults:
        midi = min(88, max(40, midi + int(rng.choice([-2, -1, 1, 2]))))
    note = recorded_note(guitar, midi, STRENGTHS[int(rng.integers(2))])
    tuned = soxr.resample(
        note.samples[: round((hand.length_s + 0.05) * TAKE_RATE_HZ)],
        TAKE_RATE_HZ * 2 ** ((hand.cents - note.cents + rng.normal(0, 4)) / 1200),
        TAKE_RATE_HZ,
        quality="MQ",
    )
    damped_s = float(rng.uniform(0.008, 0.025)) if is_dead else hand.damped_s
    piece = (
        tuned * np.exp(-np.arange(len(tuned)) / (damped_s * TAKE_RATE_HZ)) * 10 ** (rng.normal(-6, 2.5) / 20)
    )
    fade = min(400, len(piece))
    piece[-fade:] *= np.linspace(1, 0, fade)
    start = round(at_s * TAKE_RATE_HZ)
    stop = min(len(out), start + len(piece))
    out[start:stop] += piece[: stop - start]
    return [] if is_dead else [Sounding(at_s, midi)]


# ---------------------------------------------------------------------------------------------------------
# Labels


def _labelled(
    samples: NDArray[np.float32], soundings: Sequence[Sounding], rng: np.random.Generator
) -> Moments:
    found = find_candidates(samples)
    onsets = np.array([one.onset_s for one in soundings])
    slurs = np.array([one.onset_s for one in soundings if one.slurred])
    anywhere = rng.uniform(0.2, max(0.3, len(samples) / RATE_HZ - 0.3), 25)
    near_onsets = onsets[rng.random(len(onsets)) < 0.35]
    times_s = np.unique(
        np.concatenate(
            [
                found.times_s,
                slurs + rng.uniform(-0.008, 0.012, len(slurs)),
                near_onsets + rng.uniform(-0.008, 0.012, len(near_onsets)),
                anywhere,
            ]
        )
    )
    moments = at_moments(found, times_s)
    alone, among, kept = _labels(moments.times_s, np.maximum(moments.rise, moments.change), soundings)
    moments = replace(
        moments, times_s=moments.times_s[kept], rise=moments.rise[kept], change=moments.change[kept]
    )
    readings = read_spectra(samples, moments, tuning_of(samples, found.times_s), found)
    return Moments(readings, alone[kept], among[kept])


def _labels(
    times_s: Floats, strength: Floats, soundings: Sequence[Sounding]
) -> tuple[NDArray[np.int64], NDArray[np.bool_], NDArray[np.bool_]]:
    """Labels of each moment, and which moments say yes or no at all.

    Of the moments about an onset the strongest is the note's, and those within 15 ms of the onset are its as
    well; the others about it say neither yes nor no.
    """
    alone = np.full(len(times_s), NOTHING)
    among = np.zeros((len(times_s), PITCHES), dtype=bool)
    kept = np.ones(len(times_s), dtype=bool)
    for one in soundings:
        away = times_s - one.onset_s
        near = np.flatnonzero(np.abs(away) < _NEAR_S)
        if not len(near) or not LOWEST_MIDI <= one.midi <= HIGHEST_MIDI:
            kept[near] = False
            continue
        best = near[int(np.argmax(strength[near] - 8 * np.abs(away[near] - 0.006)))]
        its = np.union1d([best], near[np.abs(away[near] - 0.004) < 0.015])
        others = near[~np.isin(near, its) & (alone[near] == NOTHING)]
        kept[others] = False
        for moment in its:
            kept[moment] = True
            taken = alone[moment] not in (NOTHING, one.midi - LOWEST_MIDI)
            alone[moment] = -1 if taken else one.midi - LOWEST_MIDI
    for one in soundings:
        if LOWEST_MIDI <= one.midi <= HIGHEST_MIDI:
            away = one.onset_s - times_s
            among[(away > -0.03) & (away < _CHORD_S), one.midi - LOWEST_MIDI] = True
    several = among.sum(axis=1) > 1
    alone[several] = -1
    return alone, among, kept
