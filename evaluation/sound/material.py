"""What is played for the evaluation, through the package's public renderer."""

from collections.abc import Sequence

import numpy as np
from evaluation.sound.measure import RATE_HZ, Floats

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import HALF, QUARTER, WHOLE, Value
from fretwright.sound.render import Sound, render
from fretwright.sound.voices import Voice
from fretwright.theory.key import Key

NECK = Neck()

Item = tuple[int, int, Value, Attack] | Value
"""String, fret, value and attack; a bare value is a rest."""


def line(items: Sequence[Item], bpm: float) -> Score:
    """A line on a guitar in standard tuning."""
    events = []
    for item in items:
        if isinstance(item, Value):
            events.append(Event(item))
            continue
        string, fret, value, attack = item
        place = Place(string, fret)
        events.append(Event(value, (Head(place, NECK.pitch_at(place), attack),)))
    return assemble(Heading("line", "Line", NECK, Key(0), TempoMap.constant(bpm)), into_bars(events))


def long_note(voice: Voice, string: int, fret: int) -> Floats:
    """Four seconds of one note, from its onset, both channels as one."""
    sound = render(line([(string, fret, WHOLE, Attack.PLUCK)], 60), voice=voice)
    start = round(sound.time_map[0].onset_s * RATE_HZ)
    return mono(sound)[start : start + 4 * RATE_HZ]


def two_notes(voice: Voice, string: int, frets: tuple[int, int], attack: Attack) -> tuple[Floats, int]:
    """A plucked quarter at 90 and a half note that starts by ``attack``; where the second starts."""
    first, second = frets
    items: list[Item] = [(string, first, QUARTER, Attack.PLUCK), (string, second, HALF, attack), QUARTER]
    sound = render(line(items, 90), voice=voice)
    return mono(sound), round(sound.time_map[1].onset_s * RATE_HZ)


def mono(sound: Sound) -> Floats:
    """Both channels as one."""
    mixed: Floats = sound.samples.astype(np.float64).mean(axis=1)
    return mixed
