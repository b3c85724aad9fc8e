"""What is played for the evaluation, through the package's public renderer."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from evaluation.sound.measure import RATE_HZ, Floats

from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.techniques import PLAIN, Stroke, Techniques
from fretwright.score.tempo import TempoMap
from fretwright.score.values import HALF, QUARTER, WHOLE, Value
from fretwright.sound.instrument import Voice
from fretwright.sound.overdrive import Overdriven
from fretwright.sound.render import Sound, render
from fretwright.sound.voices import BASS, CLEAN_ELECTRIC
from fretwright.theory.key import Key

NECK = Neck()
_BASS_NECK = Neck(TUNINGS["bass"], scale_length_mm=864.0)

Item = tuple[int, int, Value, Attack] | Value
"""String, fret, value and attack; a bare value is a rest."""


def neck_of(voice: Voice) -> Neck:
    """The neck that an instrument usually has."""
    return _BASS_NECK if voice is BASS else NECK


def strings_of(voice: Voice) -> range:
    """Its strings from 1, the highest."""
    return neck_of(voice).tuning.strings


def midi_at(voice: Voice, string: int, fret: int = 0) -> int:
    """What sounds at a place of its neck."""
    return neck_of(voice).midi_at(Place(string, fret))


def undriven(voice: Voice) -> Voice:
    """An overdriven guitar through the clean amplifier; any other as it is."""
    return replace(voice, colour=CLEAN_ELECTRIC.colour) if isinstance(voice.colour, Overdriven) else voice


def line(items: Sequence[Item], bpm: float, neck: Neck = NECK) -> Score:
    """A line in which nothing but attacks is asked for."""
    events = []
    for item in items:
        if isinstance(item, Value):
            events.append(Event(item))
            continue
        string, fret, value, attack = item
        place = Place(string, fret)
        events.append(Event(value, (Head(place, neck.pitch_at(place), attack),)))
    return assemble(Heading("line", "Line", neck, Key(0), TempoMap.constant(bpm)), into_bars(events))


def long_note(voice: Voice, string: int, fret: int) -> Floats:
    """Four seconds of one note, from its onset, both channels as one."""
    sound = render(line([(string, fret, WHOLE, Attack.PLUCK)], 60, neck_of(voice)), voice=voice)
    start = round(sound.time_map[0].onset_s * RATE_HZ)
    return mono(sound)[start : start + 4 * RATE_HZ]


def two_notes(voice: Voice, string: int, frets: tuple[int, int], attack: Attack) -> tuple[Floats, int]:
    """A plucked quarter at 90 and a half note that starts by ``attack``; where the second starts."""
    first, second = frets
    items: list[Item] = [(string, first, QUARTER, Attack.PLUCK), (string, second, HALF, attack), QUARTER]
    sound = render(line(items, 90, neck_of(voice)), voice=voice)
    return mono(sound), round(sound.time_map[1].onset_s * RATE_HZ)


@dataclass(frozen=True, slots=True)
class Asked:
    """A note of which something is asked."""

    string: int
    fret: int
    techniques: Techniques = PLAIN
    value: Value = WHOLE
    attack: Attack = Attack.PLUCK
    stroke: Stroke | None = None


def played(voice: Voice, moments: Sequence[Sequence[Asked]], bpm: float = 60.0) -> Score:
    """Notes of which something is asked; those of one moment start together, none are a rest of a quarter."""
    neck = neck_of(voice)
    events = []
    for moment in moments:
        heads = tuple(
            Head(place, neck.pitch_at(place), each.attack, stroke=each.stroke, techniques=each.techniques)
            for each in moment
            for place in [Place(each.string, each.fret)]
        )
        events.append(Event(moment[0].value if moment else QUARTER, heads))
    return assemble(Heading("asked", "Asked", neck, Key(0), TempoMap.constant(bpm)), into_bars(events))


def one(voice: Voice, asked: Asked, bpm: float = 60.0) -> Floats:
    """One such note from its onset on, both channels as one."""
    sound = render(played(voice, [[asked]], bpm), voice=voice)
    return mono(sound)[round(sound.time_map[0].onset_s * RATE_HZ) :]


def mono(sound: Sound) -> Floats:
    """Both channels as one."""
    mixed: Floats = sound.samples.astype(np.float64).mean(axis=1)
    return mixed
