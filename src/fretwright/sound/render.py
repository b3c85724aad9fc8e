"""A score, sounded: the flow through the stages, and the time map that ties audio to notes."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.fretboard.neck import Neck
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.score.timeline import TimedNote, Timeline, timeline
from fretwright.sound.arrays import Floats, Samples
from fretwright.sound.click import add_click, click
from fretwright.sound.gesture import OpenString, Touch, string_part
from fretwright.sound.kernel import ring
from fretwright.sound.loudness import to_target
from fretwright.sound.voices import ACOUSTIC_STEEL, Voice

LEAD_S: Final = 0.05
"""Silence before anything sounds: room for a decoder to start."""
TAIL_S: Final = 0.45
"""What is left after the last note is damped."""
_CLICK_PEAK: Final = 0.30
_ACCENT_PEAK: Final = 0.42


@dataclass(frozen=True, slots=True)
class SoundOptions:
    """What sounds besides the notes."""

    count_in: bool = False
    """One bar of clicks before the first bar; before a pickup, also the beats it leaves out."""
    click: bool = False
    """A click on every beat of the music."""


@dataclass(frozen=True, slots=True)
class SoundedNote:
    """When a note sounds, on the clock of the audio it belongs to."""

    note_id: str
    onset_s: float
    """A whole number of samples: where the note's own sound, or for a slur its change of length, starts."""
    duration_s: float
    pass_index: int
    """0 the first time the note's bar is played, 1 the second."""


@dataclass(frozen=True, slots=True)
class Sound:
    """Rendered audio and what sounds in it when."""

    samples: Samples
    """Shape (n, 2), between -1 and 1."""
    time_map: tuple[SoundedNote, ...]
    """In order of onset and then from the lowest string up; empty for a bare click track."""
    music_starts_s: float
    """Where the first bar starts, after lead and count-in."""
    music_ends_s: float
    """Where the last bar ends: the point to jump back from in a loop."""
    rate_hz: int = SAMPLE_RATE_HZ

    @property
    def duration_s(self) -> float:
        """Length of the audio."""
        return len(self.samples) / self.rate_hz


def render(
    score: Score,
    bpm: float | None = None,
    voice: Voice = ACOUSTIC_STEEL,
    options: SoundOptions = SoundOptions(),
) -> Sound:
    """Sound a score at a tempo (by default its own), at -16 LUFS with at most -1 dBTP.

    Raises :class:`~fretwright.base.errors.ScoreError` for a tempo out of range and
    :class:`~fretwright.base.errors.RenderError` for a pitch that no string of the model can hold.
    """
    performance = timeline(score, bpm)
    ticks = _count_in(score, performance.bpm) if options.count_in else ()
    starts = _sample(LEAD_S) + (_sample(ticks[-1].until_s) if ticks else 0)
    samples = starts + _sample(performance.length_s + TAIL_S)
    mix = to_target(sound_strings(score.neck, performance, starts, samples, voice))
    if options.count_in or options.click:
        clicks = _clicks(ticks, performance if options.click else None, starts, samples)
        mix = to_target(mix + clicks[:, None])
    return Sound(
        samples=mix.astype(np.float32, order="C"),
        time_map=tuple(_sounded(timed, starts) for timed in performance.notes),
        music_starts_s=starts / SAMPLE_RATE_HZ,
        music_ends_s=(starts + _sample(performance.length_s)) / SAMPLE_RATE_HZ,
    )


def click_sound(*, accented: bool) -> Sound:
    """One click on its own, for a player that places its clicks itself; it starts at sample 0."""
    mono = click(accented=accented) * (_ACCENT_PEAK if accented else _CLICK_PEAK)
    return Sound(np.stack([mono, mono], axis=1).astype(np.float32), (), 0.0, len(mono) / SAMPLE_RATE_HZ)


def click_track(score: Score, bpm: float | None = None, *, count_in: bool = True) -> Sound:
    """The clicks alone, on the same clock as :func:`render` with the same count-in.

    Their level is that of :func:`click_sound`. Raises as :func:`render`.
    """
    performance = timeline(score, bpm)
    ticks = _count_in(score, performance.bpm) if count_in else ()
    starts = _sample(LEAD_S) + (_sample(ticks[-1].until_s) if ticks else 0)
    samples = starts + _sample(performance.length_s + TAIL_S)
    mono = _clicks(ticks, performance, starts, samples).astype(np.float32)
    ends_s = (starts + _sample(performance.length_s)) / SAMPLE_RATE_HZ
    return Sound(np.stack([mono, mono], axis=1), (), starts / SAMPLE_RATE_HZ, ends_s)


def sound_strings(neck: Neck, performance: Timeline, starts: int, samples: int, voice: Voice) -> Samples:
    """All strings through the voice's colour, shape (samples, 2), before the final gain."""
    motion = np.zeros(samples)
    for string, touches in _touches(performance.notes, starts, voice).items():
        open_midi = neck.tuning.open_pitch(string).midi
        part = string_part(OpenString(open_midi, neck.scale_length_mm), touches, voice, samples)
        pickup_level = -voice.pickup.level if voice.pickup else 0.0
        for controls, level in zip(part.controls, (1.0, voice.sway.level), strict=True):
            ring(
                part.track,
                motion,
                part.steps,
                controls,
                part.sections,
                level,
                part.pickup_delay,
                pickup_level,
            )
    return voice.colour.apply(motion)


def _sample(time_s: float) -> int:
    return round(time_s * SAMPLE_RATE_HZ)


def _touches(notes: Iterable[TimedNote], starts: int, voice: Voice) -> dict[int, list[Touch]]:
    """Each string's touches in order of time."""
    strings: dict[int, list[Touch]] = defaultdict(list)
    for timed in notes:
        onset = starts + _sample(timed.onset_s)
        end = starts + _sample(timed.onset_s + timed.duration_s)
        level = voice.hands.upstroke_level if timed.note.stroke is Stroke.UP else 1.0
        strings[timed.note.string].append(Touch(onset, end, timed.note.midi, timed.note.attack, level))
    return dict(sorted(strings.items()))


def _sounded(timed: TimedNote, starts: int) -> SoundedNote:
    onset = starts + _sample(timed.onset_s)
    end = starts + _sample(timed.onset_s + timed.duration_s)
    return SoundedNote(
        timed.note.id, onset / SAMPLE_RATE_HZ, (end - onset) / SAMPLE_RATE_HZ, timed.time_through - 1
    )


# ---------------------------------------------------------------------------------------------------------
# Clicks


@dataclass(frozen=True, slots=True)
class _Tick:
    """One beat of the count-in."""

    time_s: float
    accented: bool
    until_s: float
    """When the beat is over."""


def _count_in(score: Score, bpm: float) -> tuple[_Tick, ...]:
    """A full bar of beats, and before a pickup the beats it leaves out of its own bar."""
    bar = score.bars[0]
    tempo = score.tempo.at_start(bpm)
    beat_s = float(bar.meter.beat) * tempo.marks[0].seconds_per_whole
    beats = bar.meter.beats
    total_s = beats * beat_s
    if score.pickup:
        total_s += float(bar.meter.length - bar.length) * tempo.marks[0].seconds_per_whole
    count = int(total_s / beat_s - 1e-9) + 1
    return tuple(
        _Tick(number * beat_s, number % beats == 0, min(total_s, (number + 1) * beat_s))
        for number in range(count)
    )


def _clicks(ticks: Iterable[_Tick], performance: Timeline | None, starts: int, samples: int) -> Floats:
    mono = np.zeros(samples)
    for tick in ticks:
        at = _sample(LEAD_S) + _sample(tick.time_s)
        add_click(mono, at, _ACCENT_PEAK if tick.accented else _CLICK_PEAK, accented=tick.accented)
    for beat in performance.beats if performance else ():
        first = beat.beat == 1
        add_click(mono, starts + _sample(beat.time_s), _ACCENT_PEAK if first else _CLICK_PEAK, accented=first)
    return mono
