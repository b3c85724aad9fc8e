"""A score, sounded: the flow through the stages, and the time map that ties audio to notes."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.fretboard.neck import Neck
from fretwright.score.ornaments import TouchedNote, lead_in_s, touched_notes
from fretwright.score.score import Score
from fretwright.score.timeline import TimedNote, Timeline, timeline
from fretwright.sound.arrays import Floats, Samples
from fretwright.sound.click import add_click, click
from fretwright.sound.contacts import Contact, OpenString, sample
from fretwright.sound.gesture import StringPart, string_part
from fretwright.sound.instrument import Voice
from fretwright.sound.kernel import ring
from fretwright.sound.loudness import Audio, to_target
from fretwright.sound.voices import by_name

LEAD_S: Final = 0.05
"""Silence before anything sounds: room for a decoder to start."""
TAIL_S: Final = 0.45
"""What is left after the last note is damped."""
_BEFORE_LEAD_IN_S: Final = 0.02
_AT_ONCE: Final = 96
"""2 ms, in samples."""
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
    voice: Voice | None = None,
    options: SoundOptions = SoundOptions(),
) -> Sound:
    """Sound a score at a tempo (by default its own), at -16 LUFS with at most -1 dBTP.

    ``voice`` takes the place of the score's own instrument.

    Raises :class:`~fretwright.base.errors.ScoreError` for a tempo out of range and
    :class:`~fretwright.base.errors.RenderError` for a pitch that no string of the model can hold.
    """
    performance = timeline(score, bpm)
    ticks = _count_in(score, performance.bpm) if options.count_in else ()
    lead = sample(lead_s(score, performance))
    starts = lead + (sample(ticks[-1].until_s) if ticks else 0)
    samples = starts + sample(performance.length_s + TAIL_S)
    strings = sound_strings(score.neck, performance, starts, samples, voice or by_name(score.instrument))
    mix = to_target(strings)
    if options.count_in or options.click:
        clicks = _clicks(ticks, performance if options.click else None, lead, starts, samples)
        mix = to_target(mix + clicks[:, None])
    return _sound(mix, performance, starts)


def render_bare_and_counted(score: Score, bpm: float | None = None) -> tuple[Sound, Sound]:
    """A score without and with its count-in, the strings sounded once for both. Raises as :func:`render`."""
    performance = timeline(score, bpm)
    ticks = _count_in(score, performance.bpm)
    lead = sample(lead_s(score, performance))
    starts = lead + sample(ticks[-1].until_s)
    samples = starts + sample(performance.length_s + TAIL_S)
    strings = sound_strings(score.neck, performance, starts, samples, by_name(score.instrument))
    bare = to_target(strings[starts - lead :])
    # The clicks stand alone before the music and are softer than its peaks: its level may stay what it is.
    clicks = _clicks(ticks, None, lead, starts, samples)
    counted = np.stack([clicks, clicks]).T  # one side after the other in memory, as the strings are
    counted[starts - lead :] += bare
    return _sound(bare, performance, lead), _sound(counted, performance, starts)


def _sound(mix: Audio, performance: Timeline, starts: int) -> Sound:
    return Sound(
        samples=mix.astype(np.float32, order="C"),
        time_map=tuple(_sounded(timed, starts) for timed in performance.notes),
        music_starts_s=starts / SAMPLE_RATE_HZ,
        music_ends_s=(starts + sample(performance.length_s)) / SAMPLE_RATE_HZ,
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
    lead = sample(lead_s(score, performance))
    starts = lead + (sample(ticks[-1].until_s) if ticks else 0)
    samples = starts + sample(performance.length_s + TAIL_S)
    mono = _clicks(ticks, performance, lead, starts, samples).astype(np.float32)
    ends_s = (starts + sample(performance.length_s)) / SAMPLE_RATE_HZ
    return Sound(np.stack([mono, mono], axis=1), (), starts / SAMPLE_RATE_HZ, ends_s)


def sound_strings(neck: Neck, performance: Timeline, starts: int, samples: int, voice: Voice) -> Samples:
    """All strings through the voice's colour, shape (samples, 2), before the final gain."""
    motion = np.zeros(samples)
    for string, contacts in _contacts(touched_notes(performance.notes, neck), starts, voice).items():
        open_midi = neck.tuning.open_pitch(string).midi
        part = string_part(OpenString(open_midi, neck.scale_length_mm), contacts, voice, samples)
        if part.volume is None:
            _ring(part, voice, motion)
        else:
            alone = np.zeros(samples)
            _ring(part, voice, alone)
            motion += part.volume * alone
    return voice.colour.apply(motion)


def _ring(part: StringPart, voice: Voice, out: Floats) -> None:
    """Add both directions of one string's motion."""
    pickup_level = -voice.pickup.level if voice.pickup else 0.0
    for controls, level in zip(part.controls, (1.0, voice.sway.level), strict=True):
        ring(part.track, out, part.steps, controls, part.sections, level, part.pickup_delay, pickup_level)


def _contacts(touched: Iterable[TouchedNote], starts: int, voice: Voice) -> dict[int, list[Contact]]:
    """Each string's contacts in order of time; one that another follows at once is left out."""
    strings: dict[int, list[Contact]] = defaultdict(list)
    for each in touched:
        for touch in each.touches:
            strings[touch.string].append(Contact.of(touch, starts, voice.hands))
    ordered = {
        string: sorted(strings[string], key=lambda contact: contact.onset) for string in sorted(strings)
    }
    return {
        string: [
            contact
            for contact, after in zip(contacts, [*contacts[1:], None], strict=True)
            if after is None or after.onset - contact.onset >= _AT_ONCE
        ]
        for string, contacts in ordered.items()
    }


def _sounded(timed: TimedNote, starts: int) -> SoundedNote:
    onset = starts + sample(timed.sounds_s)
    end = starts + sample(timed.ends_s)
    return SoundedNote(
        timed.note.id, onset / SAMPLE_RATE_HZ, (end - onset) / SAMPLE_RATE_HZ, timed.time_through - 1
    )


def lead_s(score: Score, performance: Timeline) -> float:
    """How long the audio is silent before a count-in or, without one, the first bar.

    It is :data:`LEAD_S` unless grace notes or a rake lead into the first bar and need more.
    """
    first_s = min((timed.onset_s for timed in performance.notes), default=0.0)
    first = [timed for timed in performance.notes if timed.onset_s == first_s]
    early_s = lead_in_s(touched_notes(first, score.neck))
    return max(LEAD_S, early_s + _BEFORE_LEAD_IN_S) if early_s else LEAD_S


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


def _clicks(
    ticks: Iterable[_Tick], performance: Timeline | None, lead: int, starts: int, samples: int
) -> Floats:
    mono = np.zeros(samples)
    for tick in ticks:
        at = lead + sample(tick.time_s)
        add_click(mono, at, _ACCENT_PEAK if tick.accented else _CLICK_PEAK, accented=tick.accented)
    for beat in performance.beats if performance else ():
        first = beat.beat == 1
        add_click(mono, starts + sample(beat.time_s), _ACCENT_PEAK if first else _CLICK_PEAK, accented=first)
    return mono
