"""How fast a line is sounded, beside a general-purpose synthesiser playing a sound font.

Both play the same notes at the same sample rate in one run, timed by what they take of one core: the
string model with its final levelling, and fluidsynth (through its Python binding) with a steel-string
guitar of the free font of Debian's fluid-soundfont-gm. Loading and compiling are not counted. The bar is
150 times real time for a plain line; a line that is bent, one with vibrato on every note and full chords are
timed beside it, without a bar.
"""

import sys
import time
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from statistics import median

import fluidsynth
import numpy as np

from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.techniques import USUAL_VIBRATO, Stroke, Techniques, bend_up
from fretwright.score.tempo import TempoMap
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, QUARTER
from fretwright.sound.instrument import Voice
from fretwright.sound.render import render
from fretwright.sound.voices import VOICES
from fretwright.theory.key import Key

SOUND_FONT = Path("/usr/share/sounds/sf2/FluidR3_GM.sf2")
STEEL_GUITAR = 25
BAR = 150.0
ROUNDS = 7

# A minor pentatonic in fifth position, up plucked and down with pull-offs.
UP = [(6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5), (3, 7), (2, 5), (2, 8), (1, 5), (1, 8)]


def line(times: int) -> Score:
    """Eighth notes over the whole neck's width, up and down."""
    neck = Neck()
    events: list[Event] = []
    for string, fret in (UP + UP[::-1]) * times:
        place = Place(string, fret)
        slurred = events and events[-1].heads[0].place.string == string
        before = events[-1].heads[0].place.fret if slurred else fret
        attack = {True: Attack.PULL_OFF, False: Attack.PLUCK}[fret < before]
        events.append(Event(EIGHTH, (Head(place, neck.pitch_at(place), attack),)))
    return assemble(Heading("line", "Line", neck, Key(0), TempoMap.constant(80)), into_bars(events))


def asked(techniques: Techniques) -> Score:
    """A line of quarters on one string, something asked of every note."""
    neck = Neck()
    places = [Place(2, 5 + number % 4) for number in range(48)]
    events = [Event(QUARTER, (Head(place, neck.pitch_at(place), techniques=techniques),)) for place in places]
    return assemble(Heading("asked", "Asked", neck, Key(0), TempoMap.constant(80)), into_bars(events))


def chords() -> Score:
    """Quarters strummed down over all strings."""
    neck = Neck()
    places = [Place(string, 3) for string in neck.tuning.strings]
    heads = tuple(Head(place, neck.pitch_at(place), stroke=Stroke.DOWN) for place in places)
    heading = Heading("chords", "Chords", neck, Key(0), TempoMap.constant(80))
    return assemble(heading, into_bars([Event(QUARTER, heads)] * 48))


def seconds(task: Callable[[], object]) -> float:
    """Median processor time of a task over several rounds, after one round to warm up."""
    task()
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        task()
        times.append(time.process_time() - start)
    return median(times)


def speed(score: Score, voice: Voice) -> float:
    """How many times faster than real time a score is sounded."""
    return timeline(score).length_s / seconds(lambda: render(score, voice=voice))


def reference(score: Score) -> Callable[[], object]:
    """The same notes through the sound font, as one task."""
    synthesiser = fluidsynth.Synth(samplerate=float(SAMPLE_RATE_HZ))
    font = synthesiser.sfload(str(SOUND_FONT))
    synthesiser.program_select(0, font, 0, STEEL_GUITAR)
    performance = timeline(score)
    moments = sorted(
        [(note.onset_s + note.duration_s, 0, note.note.midi) for note in performance.notes]
        + [(note.onset_s, 1, note.note.midi) for note in performance.notes]
    )

    def play() -> object:
        pieces, now = [], 0
        for at_s, starts, midi in moments:
            at = round(at_s * SAMPLE_RATE_HZ)
            if at > now:
                pieces.append(synthesiser.get_samples(at - now))
                now = at
            if starts:
                synthesiser.noteon(0, midi, 100)
            else:
                synthesiser.noteoff(0, midi)
        return np.concatenate(pieces)

    return play


def main() -> int:
    """Print one line per voice; the exit code says whether the bar was reached."""
    if not SOUND_FONT.exists():
        sys.exit("The reference's sound font is missing: apt-get install fluidsynth fluid-soundfont-gm")
    score = line(8)
    others = {
        "bends": asked(Techniques(bend=bend_up(Fraction(2)))),
        "vibrato": asked(Techniques(vibrato=USUAL_VIBRATO)),
        "chords": chords(),
    }
    length_s = timeline(score).length_s
    theirs = length_s / seconds(reference(score))
    reached = True
    for voice in VOICES.values():
        ours = speed(score, voice)
        reached &= ours >= BAR
        rest = ", ".join(f"{name} {speed(other, voice):.0f}" for name, other in others.items())
        print(
            f"{voice.name}: {length_s:.0f} s of a line at {ours:.0f} times real time (bar {BAR:.0f}), "
            f"{ours / theirs:.2f} times the speed of fluidsynth ({theirs:.0f} times); {rest}"
        )
    return 0 if reached else 1


if __name__ == "__main__":
    sys.exit(main())
