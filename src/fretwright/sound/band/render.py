"""From a score's chord names to the sound of a band: one track for each player, and their mix."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import Final

import numpy as np

from fretwright.base.errors import UsageError
from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.score.score import Score
from fretwright.sound.arrays import Floats, Samples
from fretwright.sound.band.bass_guitar import bass_sound
from fretwright.sound.band.bass_line import BassNote, bass_part
from fretwright.sound.band.changes import Change, PlayedChanges, changes_of
from fretwright.sound.band.comping import CompedChord, comping_part
from fretwright.sound.band.drum_kit import stroke_on
from fretwright.sound.band.drumming import Hit, drum_part
from fretwright.sound.band.feels import Feel, Piece
from fretwright.sound.band.tine_piano import piano_note
from fretwright.sound.colour import Band as PassBand
from fretwright.sound.colour import Shape
from fretwright.sound.instrument import Voice
from fretwright.sound.loudness import CEILING_DBTP, TARGET_LUFS, integrated_lufs, limiter_gain, true_peak
from fretwright.sound.render import LEAD_S, Sound
from fretwright.sound.voices import BASS

MOST_CHORUSES: Final = 64
_TAIL_S: Final = 3.0
"""What is left for the last chord and cymbal to die away."""
_ROOM: Final = Shape(tilts=(), band=PassBand(25.0, 17_000.0), resonances=(), room_level=0.10)
_PANS: Final[Mapping[Piece, float]] = MappingProxyType(
    {
        Piece.CLOSED_HAT: -0.35, Piece.OPEN_HAT: -0.35, Piece.FOOT_HAT: -0.35, Piece.RIDE: 0.4,
        Piece.CRASH: -0.5, Piece.HIGH_TOM: -0.2, Piece.LOW_TOM: 0.3, Piece.RIM: 0.1,
    }
)  # fmt: skip
"""From -1 on the left to 1 on the right; what is not here stands in the middle."""
_PIANO_PAN: Final = 0.25
_ROUNDS: Final = 2
_MARGIN_DB: Final = 0.1
_SAMPLE_PEAK: Final = 0.96


class Player(StrEnum):
    """Who plays in the band."""

    DRUMS = "drums"
    BASS = "bass"
    CHORDS = "chords"


_LOUDNESS_LUFS: Final[Mapping[Player, float]] = MappingProxyType(
    {Player.DRUMS: -20.0, Player.BASS: -20.5, Player.CHORDS: -23.0}
)
"""How loud each player is before the mix is brought to its target."""


@dataclass(frozen=True, slots=True)
class BandOptions:
    """How much of it is played, and how it starts and ends."""

    choruses: int = 1
    """How often the whole form comes round."""
    count_in: bool = True
    """One bar of sticks before the first."""
    ending: bool = True
    """A last chord after the last bar. Without it the sound stops with the form."""
    loop: bool = False
    """Cut to the length of the form, with what rings over its end heard at its start, so that it may be
    repeated without a seam. There is then no count-in and no ending."""
    bass_voice: Voice = BASS


@dataclass(frozen=True, slots=True)
class BandSound:
    """A band's music."""

    mix: Sound
    """The sum of the stems, at -16 LUFS where its peaks leave room for that, and under -1 dBTP."""
    stems: Mapping[Player, Sound]
    """One for each player, on the same clock and at the level that they have in the mix."""


def render_band(
    score: Score,
    feel: Feel,
    seed: int = 0,
    bpm: float | None = None,
    options: BandOptions = BandOptions(),
) -> BandSound:
    """Play the chords that a score names.

    The same arguments give the same samples; another seed varies what is not fixed by the feel. Raises
    :class:`~fretwright.base.errors.RenderError` where no chords are named or a name is no chord, and
    :class:`~fretwright.base.errors.UsageError` for a number of choruses that cannot be played.
    """
    form = changes_of(score, bpm)
    bars, length_s, ends = _performance(form, score, options)
    parts = (
        drum_part(bars, feel, seed, ends=ends),
        bass_part(bars, feel, seed, ends=ends),
        comping_part(bars, feel, seed, ends=ends),
    )
    starts = _starts(form, options)
    samples = starts + _sample(length_s + (bars[-1].beat_s * float(bars[-1].beats) if ends else 0) + _TAIL_S)
    stems = _stems(*parts, _sticks(form[0], options), starts, samples, options.bass_voice)
    if options.loop:
        stems = {player: _folded(sound, _sample(length_s)) for player, sound in stems.items()}
    return _balanced(stems, starts, starts + _sample(length_s), loop=options.loop)


def _performance(
    form: Sequence[PlayedChanges], score: Score, options: BandOptions
) -> tuple[tuple[PlayedChanges, ...], float, bool]:
    """All bars that are played, how long the form lasts, and whether a closing bar follows it."""
    if not 1 <= options.choruses <= MOST_CHORUSES:
        raise UsageError(
            f"{options.choruses} choruses cannot be played.", f"Ask for 1 to {MOST_CHORUSES} of them."
        )
    once_s = form[-1].time_s(form[-1].beats)
    bars = [
        replace(bar, start_s=bar.start_s + chorus * once_s)
        for chorus in range(options.choruses)
        for bar in form
    ]
    length_s = once_s * options.choruses
    ends = options.ending and not options.loop
    if ends:
        beats = Fraction(form[-1].bar.meter.beats)
        home = _home(form, score)
        bars.append(replace(form[-1], start_s=length_s, beats=beats, changes=(replace(home, beats=beats),)))
    return tuple(bars), length_s, ends


def _home(form: Sequence[PlayedChanges], score: Score) -> Change:
    """The chord to end on: the first one on the keynote, or else the first of all."""
    sounding = [change for bar in form for change in bar.changes if change.chord is not None]
    tonic = score.key.tonic.pitch_class
    at_home = (each for each in sounding if each.chord and each.chord.root.pitch_class == tonic)
    return replace(next(at_home, sounding[0]), beat=Fraction(0))


def _starts(form: Sequence[PlayedChanges], options: BandOptions) -> int:
    if options.loop:
        return 0
    first = form[0]
    counted_s = float(first.bar.meter.beats) * first.beat_s if options.count_in else 0.0
    if options.count_in and first.bar.number == 0:
        counted_s += float(first.bar.meter.beats - first.beats) * first.beat_s
    return _sample(LEAD_S) + _sample(counted_s)


def _sticks(first: PlayedChanges, options: BandOptions) -> tuple[Hit, ...]:
    """The count-in, at negative times before the first bar."""
    if not options.count_in or options.loop:
        return ()
    beats = first.bar.meter.beats
    total = beats + (beats - int(first.beats) if first.bar.number == 0 else 0)
    return tuple(
        Hit((index - total) * first.beat_s, Piece.STICKS, 1.0 if index % beats == 0 else 0.75)
        for index in range(total)
    )


# ---------------------------------------------------------------------------------------------------------
# Players to tracks


def _stems(
    hits: Sequence[Hit],
    notes: Sequence[BassNote],
    chords: Sequence[CompedChord],
    sticks: Sequence[Hit],
    starts: int,
    samples: int,
    bass_voice: Voice,
) -> dict[Player, Samples]:
    return {
        Player.DRUMS: _drums((*sticks, *hits), starts, samples),
        Player.BASS: bass_sound(notes, starts, samples, bass_voice),
        Player.CHORDS: _piano(chords, starts, samples),
    }


def _drums(hits: Sequence[Hit], starts: int, samples: int) -> Samples:
    sides = np.zeros((2, samples))
    for hit in hits:
        sound = hit.level * stroke_on(hit.piece)
        _add(sides, starts + _sample(hit.time_s), sound, _PANS.get(hit.piece, 0.0))
    return _in_room(sides)


def _piano(chords: Sequence[CompedChord], starts: int, samples: int) -> Samples:
    sides = np.zeros((2, samples))
    for chord in chords:
        at = starts + _sample(chord.time_s)
        for midi in chord.voices:
            _add(sides, at, piano_note(midi, chord.duration_s, chord.level), _PIANO_PAN)
    return _in_room(sides)


def _add(sides: Floats, at: int, sound: Floats, pan: float) -> None:
    """Lay a mono sound into both sides with equal power; it is cut where the track ends."""
    piece = sound[: max(0, sides.shape[1] - at)]
    angle = (pan + 1) * np.pi / 4
    for side, gain in zip(sides, (np.cos(angle), np.sin(angle)), strict=True):
        side[at : at + len(piece)] += gain * piece


def _in_room(sides: Floats) -> Samples:
    """Each side through the room, which answers a little on the other one as well."""
    left, right = sides
    heard = np.stack([0.9 * left + 0.1 * right, 0.9 * right + 0.1 * left])
    return _ROOM.convolve_each(heard)


def _folded(sound: Samples, length: int) -> Samples:
    """What rings on after the form is laid over its start, as if the form had been played before."""
    folded = sound[:length].copy()
    for start in range(length, len(sound), length):
        rest = sound[start : start + length]
        folded[: len(rest)] += rest
    return folded


def _balanced(stems: Mapping[Player, Samples], starts: int, ends: int, *, loop: bool) -> BandSound:
    """Bring the players to their balance and the mix to its loudness, by one gain for each player."""
    levelled = {player: _at_loudness(sound, _LOUDNESS_LUFS[player]) for player, sound in stems.items()}
    mix = sum(levelled.values(), np.zeros_like(next(iter(levelled.values()))))
    # The gain of a loop is that of its second time round, when the end has been heard before the start.
    gain = _mixing_gain(np.concatenate([mix, mix]) if loop else mix)[-len(mix) :, None]
    clock = (starts / SAMPLE_RATE_HZ, ends / SAMPLE_RATE_HZ)
    return BandSound(
        Sound((gain * mix).astype(np.float32, order="C"), (), *clock),
        MappingProxyType(
            {
                player: Sound((gain * sound).astype(np.float32, order="C"), (), *clock)
                for player, sound in levelled.items()
            }
        ),
    )


def _mixing_gain(mix: Samples) -> Samples:
    """One gain for all, shape (n,): to the target loudness and, where a peak stands out, under the ceiling.

    It is a gain and not a finished mix, so that the stems can be given the same one and add up to the mix.
    """
    ceiling = 10.0 ** ((CEILING_DBTP - _MARGIN_DB) / 20)
    level = 10.0 ** ((TARGET_LUFS - integrated_lufs(mix)) / 20)
    gain = np.full(len(mix), level, dtype=np.float32)
    for _ in range(_ROUNDS):
        # What is looked for is a little lower than the ceiling, since peaks lie between samples too.
        gain = np.asarray(level * limiter_gain(level * mix, _SAMPLE_PEAK * ceiling), dtype=np.float32)
        level *= 10.0 ** ((TARGET_LUFS - integrated_lufs(gain[:, None] * mix)) / 20)
    return gain / max(np.float32(1.0), np.float32(true_peak(gain[:, None] * mix) / ceiling))


def _at_loudness(sound: Samples, lufs: float) -> Samples:
    before = integrated_lufs(sound)
    return sound if before == -np.inf else (10.0 ** ((lufs - before) / 20) * sound).astype(np.float32)


def _sample(time_s: float) -> int:
    return round(time_s * SAMPLE_RATE_HZ)
