"""The bass player: roots where chords change, a way that leads into the next one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.sound.band.changes import PlayedChanges
from fretwright.sound.band.dice import Dice
from fretwright.sound.band.feels import BassWay, Feel, swung
from fretwright.theory.chord import Chord

LOWEST_MIDI: Final = 28
"""The open low string of a bass guitar: E1."""
HIGHEST_MIDI: Final = 50
_HOME_MIDI: Final = 36
_OCTAVE: Final = 12
_FIFTH: Final = 7
_HALF: Final = Fraction(1, 2)
_QUARTER: Final = Fraction(1, 4)


@dataclass(frozen=True, slots=True)
class BassNote:
    """One note of the bass."""

    time_s: float
    duration_s: float
    midi: int
    level: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """One chord for some beats of one bar, and what comes after it."""

    bar: PlayedChanges
    chord: Chord
    beat: Fraction
    beats: Fraction
    next_chord: Chord
    """The chord after it, which may be the same one."""


Written = tuple[Fraction, Fraction, int, float]
"""Beat from the start of the stretch, length in beats, MIDI number and level."""


def bass_part(bars: Sequence[PlayedChanges], feel: Feel, seed: int, *, ends: bool) -> tuple[BassNote, ...]:
    """What the bass plays, in order of time; with ``ends`` the last bar is one long root."""
    dice = Dice(seed, "bass")
    notes: list[BassNote] = []
    here = _HOME_MIDI
    stretches = stretches_of(bars)
    for stretch in stretches:
        root = nearest(stretch.chord.bass.pitch_class, here)
        if ends and stretch.bar is bars[-1]:
            written: Sequence[Written] = ((Fraction(0), stretch.beats, root, 0.9),)
        else:
            written = tuple(_way(feel, stretch, root, dice))
        for beat, beats, midi, level in written:
            start, end = (swung(feel, stretch.beat + at) for at in (beat, beat + beats))
            time_s = stretch.bar.time_s(start)
            gap_s = 0.02 if beats < 1 else 0.03
            long_s = max(0.05, stretch.bar.time_s(end) - time_s - gap_s)
            notes.append(BassNote(time_s, long_s, midi, dice.about(level, 0.06)))
        here = written[-1][2] if written else root
        if ends and stretch.bar is bars[-1]:
            break
    return tuple(notes)


def stretches_of(bars: Sequence[PlayedChanges]) -> tuple[Stretch, ...]:
    """Every chord of every bar; places without a chord are left out, the last chord leads to the first."""
    found = [(bar, change) for bar in bars for change in bar.changes if change.chord is not None]
    after = [*found[1:], *found[:1]]
    return tuple(
        Stretch(bar, change.chord, change.beat, change.beats, following.chord)
        for (bar, change), (_, following) in zip(found, after, strict=True)
        if change.chord is not None and following.chord is not None
    )


def nearest(pitch_class: int, midi: int) -> int:
    """The pitch of a class that lies nearest to a note and inside the bass's range, the lower one of two."""
    choices = [
        pitch for pitch in range(LOWEST_MIDI, HIGHEST_MIDI - 2) if (pitch - pitch_class) % _OCTAVE == 0
    ]
    return min(choices, key=lambda pitch: (abs(pitch - midi) + 0.4 * abs(pitch - _HOME_MIDI), pitch))


def _way(feel: Feel, stretch: Stretch, root: int, dice: Dice) -> Iterator[Written]:
    match feel.bass:
        case BassWay.WALK:
            yield from _walk(stretch, root, dice)
        case BassWay.SLOW_WALK:
            yield from _with_pickups(_walk(stretch, root, dice), dice)
        case BassWay.EIGHTHS:
            yield from _eighths(stretch, root, dice)
        case BassWay.LONG:
            yield from _long(stretch, root, dice)
        case BassWay.BOSSA:
            yield from _bossa(stretch, root)
        case BassWay.FUNK:
            yield from _funk(stretch, root, dice)


def _walk(stretch: Stretch, root: int, dice: Dice) -> Iterator[Written]:
    """Quarter notes: root, chord tones in one direction, and a step into the next root."""
    beats = int(stretch.beats)
    if beats < 1:
        yield Fraction(0), stretch.beats, root, 0.8
        return
    goal = nearest(stretch.next_chord.bass.pitch_class, root)
    path = [root, *_between(stretch.chord, root, goal, beats - 2, dice)]
    if beats > 1:
        path.append(approach(stretch, path[-1], dice))
    for index, midi in enumerate(path[:beats]):
        yield Fraction(index), Fraction(1), midi, 0.85 if index % 2 == 0 else 0.75


def _between(chord: Chord, root: int, goal: int, count: int, dice: Dice) -> list[int]:
    """Chord tones on the way: up from the root, or down to a goal that lies below."""
    if count < 1:
        return []
    tones = sorted({degree.semitones % _OCTAVE for degree in chord.degrees if degree.semitones < _OCTAVE})
    rising = [root + tone for tone in tones if tone] + [root + _OCTAVE]
    falling = [root - _OCTAVE + tone for tone in reversed(tones) if tone]
    goes_down = root - LOWEST_MIDI >= _FIFTH and (goal < root or dice.happens(0.3))
    line = [midi for midi in (falling if goes_down else rising) if LOWEST_MIDI <= midi <= HIGHEST_MIDI]
    line = line or rising
    while len(line) < count:
        line = [*line, *line[-2::-1], root][: max(count, len(line) + 1)]
    return line[:count]


def approach(stretch: Stretch, left: int, dice: Dice) -> int:
    """The note before the next root: a half step or whole step beside it, or its fifth."""
    goal = nearest(stretch.next_chord.bass.pitch_class, left)
    if stretch.next_chord.bass.pitch_class == stretch.chord.bass.pitch_class:
        fifth = goal + _fifth_of(stretch.chord)
        fifths = [midi for midi in (fifth - _OCTAVE, fifth) if LOWEST_MIDI <= midi <= HIGHEST_MIDI]
        return min(fifths, key=lambda midi: abs(midi - left))
    tones = stretch.chord.pitch_classes
    steps = [goal - 1, goal + 1, *(goal + step for step in (-2, 2) if (goal + step) % _OCTAVE in tones)]
    steps = [midi for midi in steps if LOWEST_MIDI <= midi <= HIGHEST_MIDI and midi != left]
    return dice.pick(sorted(steps, key=lambda midi: abs(midi - left))[:2])


def _fifth_of(chord: Chord) -> int:
    """Semitones from the bass note to a tone that steadies it: the chord's own fifth, else an octave."""
    if chord.is_slash:
        return _OCTAVE
    fifths = [degree.semitones for degree in chord.degrees if degree.steps == 4]
    return fifths[0] if fifths else _OCTAVE


def _with_pickups(walk: Iterator[Written], dice: Dice) -> Iterator[Written]:
    """Now and then the last third of a beat plays the note again, as a slow blues leans into the next."""
    third = Fraction(1, 3)
    for beat, beats, midi, level in walk:
        if beats == 1 and dice.happens(0.3):
            yield beat, 2 * third, midi, level
            yield beat + 2 * third, third, midi, 0.55 * level
        else:
            yield beat, beats, midi, level


def _eighths(stretch: Stretch, root: int, dice: Dice) -> Iterator[Written]:
    count = int(stretch.beats / _HALF)
    goal = nearest(stretch.next_chord.bass.pitch_class, root)
    for index in range(count):
        is_last = index == count - 1 and goal != root
        midi = approach(stretch, root, dice) if is_last else root
        yield index * _HALF, _HALF, midi, 0.85 if index % 2 == 0 else 0.65
    if not count:
        yield Fraction(0), stretch.beats, root, 0.8


def _long(stretch: Stretch, root: int, dice: Dice) -> Iterator[Written]:
    goal = nearest(stretch.next_chord.bass.pitch_class, root)
    if stretch.beats <= 2 or (goal == root and not dice.happens(0.5)):
        yield Fraction(0), stretch.beats, root, 0.8
        return
    yield Fraction(0), stretch.beats - 1, root, 0.8
    yield stretch.beats - 1, Fraction(1), approach(stretch, root, dice), 0.65


def _bossa(stretch: Stretch, root: int) -> Iterator[Written]:
    """Root for a beat and a half, the fifth just before the middle and through it, the root again."""
    fifth = root + _fifth_of(stretch.chord)
    fifth = fifth if fifth <= HIGHEST_MIDI - 4 else fifth - _OCTAVE
    cells = [(Fraction(0), root), (Fraction(3, 2), fifth), (Fraction(2), fifth), (Fraction(7, 2), root)]
    inside = [(at, midi) for at, midi in cells if at < stretch.beats]
    ends = [at for at, _ in inside[1:]] + [stretch.beats]
    for (at, midi), end in zip(inside, ends, strict=True):
        yield at, end - at, midi, 0.8 if at % 1 == 0 else 0.65


_FUNK_BARS: Final = (
    ((0, 2, 0), (3, 1, 0), (6, 1, 12), (10, 2, 0), (13, 1, 10), (14, 2, 12)),
    ((0, 3, 0), (4, 1, 12), (7, 1, 0), (8, 2, 0), (11, 1, 12), (14, 1, 10)),
    ((0, 1, 0), (2, 1, 0), (6, 2, 12), (10, 1, 7), (11, 1, 10), (14, 1, 7)),
)
"""Sixteenth, length in sixteenths, semitones above the root."""


def _funk(stretch: Stretch, root: int, dice: Dice) -> Iterator[Written]:
    tones = {degree.semitones % _OCTAVE for degree in stretch.chord.degrees}
    for at, long, above in dice.pick(_FUNK_BARS):
        start = at * _QUARTER
        if start >= stretch.beats:
            break
        step = above if above % _OCTAVE in tones else _fifth_of(stretch.chord)
        midi = root + step if root + step <= HIGHEST_MIDI else root + step - _OCTAVE
        yield start, min(long * _QUARTER, stretch.beats - start), midi, 0.9 if at == 0 else 0.7
