"""What a note is made of in MIDI: small notes, trills and tremolos as notes, bends as a curve of pitch.

All times are played musical time, in whole notes. MIDI has no plucks and no slurs, so that everything is a
note with a beginning, an end and a force; only what bends a sounding pitch, or lets it swell, is a curve
beside it. Harmonics stand at their sounding pitch. Common practice, no source, for the shares and lengths.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, pi, sin
from typing import Final

from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack, Note
from fretwright.score.ornaments import raked_strings
from fretwright.score.techniques import SlideEnd, Stroke, Techniques
from fretwright.score.values import Value

_VELOCITIES: Final = {Attack.HAMMER_ON: 68, Attack.PULL_OFF: 60, Attack.SLIDE: 56, Attack.TAP: 72}
_STROKES: Final = {Stroke.DOWN: 92, Stroke.UP: 84, None: 88}
_ACCENT: Final = 24
_SOFT: Final = 40
_MUTED: Final = 12
_SMALL: Final = 64
_GRACE: Final = Fraction(1, 32)
_RAKED: Final = 44
_RAKE: Final = Fraction(1, 128)
"""From one muted string of a rake to the next."""
_KNOCK: Final = Fraction(1, 32)
_STACCATO_SHARE: Final = Fraction(1, 2)
_STEP_S: Final = 0.02
"""A curve has a point about so often."""
_SLIDE_IN_SEMITONES: Final = 2.0
_SLIDE_IN_SHARE: Final = 0.2
_SLIDE_OUT_SEMITONES: Final = 4.0
_SLIDE_OUT_FROM: Final = 0.75
_SWELL_SHARE: Final = 0.6


@dataclass(frozen=True, slots=True)
class Played:
    """One sounding of a written note."""

    note: Note
    start: Fraction
    end: Fraction
    length_s: float
    """How long it lasts in seconds, which a vibrato's rate goes by."""


@dataclass(frozen=True, slots=True)
class Touch:
    """One note of MIDI."""

    note: Note
    """The written note that it belongs to."""
    string: int
    midi: int
    start: Fraction
    end: Fraction
    velocity: int
    is_main: bool = True
    """Not for what leads to a note, nor for the later notes of a trill or a tremolo."""
    bends: tuple[tuple[Fraction, float], ...] = ()
    """Times and how far the pitch is from that of ``midi``, in semitones."""
    swell: tuple[tuple[Fraction, float], ...] = ()
    """Times and the share of its full volume, where it swells."""


def touches_of(played: Played, ring_until: Fraction, neck: Neck) -> Iterator[Touch]:
    """The notes of MIDI that a written note is made of; ``ring_until`` is when its string is needed again."""
    note, techniques = played.note, played.note.techniques
    start, end = played.start, played.end
    lead = list(_lead(played, neck))
    yield from lead
    if lead:
        start = max(start, lead[-1].end)
    if techniques.let_ring:
        end = max(end, ring_until)
    if techniques.dead:
        end = min(end, start + _KNOCK)
    elif techniques.staccato:
        end = start + (end - start) * _STACCATO_SHARE
    main = Touch(note, note.string, note.midi, start, end, velocity_of(note))
    if techniques.trill is not None:
        yield from _trilled(main, techniques.trill.value, techniques.trill.pitch.midi)
    elif techniques.tremolo is not None:
        yield from _struck_again(main, techniques.tremolo)
    else:
        yield replace(main, bends=_bends(main, played), swell=_swell(main))


def velocity_of(note: Note) -> int:
    """How hard a note is struck, 1 to 127."""
    velocity = _VELOCITIES.get(note.attack) or _STROKES[note.stroke]
    techniques = note.techniques
    velocity += _ACCENT * techniques.accent - _SOFT * techniques.ghost - _MUTED * techniques.palm_mute
    return max(1, min(127, velocity))


def _lead(played: Played, neck: Neck) -> Iterator[Touch]:
    """Raked strings and small notes just before their note; at the start they take their time from it."""
    note = played.note
    raked = raked_strings(note.string, note.techniques.rake, neck)
    steps = [(string, neck.midi_at(Place(string, 0)), _RAKE, _RAKED) for string in raked]
    steps += [(grace.place.string, grace.pitch.midi, _GRACE, _SMALL) for grace in note.techniques.graces]
    if not steps:
        return
    room = played.start if played.start > 0 else (played.end - played.start) / 2
    total = sum((length for _, _, length, _ in steps), Fraction(0))
    shrink = min(Fraction(1), room / (2 * total))
    at = played.start - total * shrink if played.start > 0 else played.start
    for string, midi, length, velocity in steps:
        yield Touch(note, string, midi, at, at + length * shrink, velocity, is_main=False)
        at += length * shrink


def _steps(main: Touch, value: Value) -> list[tuple[Fraction, Fraction]]:
    """A note's time in equal parts of about a value, two at the least."""
    length = main.end - main.start
    count = max(2, round(length / value.duration))
    return [
        (main.start + length * nth / count, main.start + length * (nth + 1) / count) for nth in range(count)
    ]


def _trilled(main: Touch, value: Value, other: int) -> Iterator[Touch]:
    for nth, (start, end) in enumerate(_steps(main, value)):
        midi, velocity = (other, _SMALL) if nth % 2 else (main.midi, main.velocity if nth == 0 else _SMALL)
        yield replace(main, midi=midi, start=start, end=end, velocity=velocity, is_main=nth == 0)


def _struck_again(main: Touch, value: Value) -> Iterator[Touch]:
    for nth, (start, end) in enumerate(_steps(main, value)):
        yield replace(main, start=start, end=end, is_main=nth == 0)


def _bends(main: Touch, played: Played) -> tuple[tuple[Fraction, float], ...]:
    """The curve of pitch: bend, vibrato and slides without a second note, added up."""
    curves = list(_curves(main.note.techniques, played.length_s))
    if not curves:
        return ()
    return _sampled(main, played.length_s, lambda share: sum(curve(share) for curve in curves))


def _sampled(
    main: Touch, length_s: float, curve: Callable[[float], float]
) -> tuple[tuple[Fraction, float], ...]:
    count = max(8, ceil(length_s / _STEP_S))
    length = main.end - main.start
    return tuple((main.start + length * nth / count, curve(nth / count)) for nth in range(count))


def _curves(techniques: Techniques, length_s: float) -> Iterator[Callable[[float], float]]:
    """Each thing that moves the pitch, by the share of the note that has passed."""
    bend, vibrato = techniques.bend, techniques.vibrato
    if bend is not None:
        yield lambda share: float(bend.semitones_at(Fraction(share)))
    if vibrato is not None:
        half_width = vibrato.width_cents / 200
        yield lambda share: half_width * sin(2 * pi * vibrato.rate_hz * share * length_s)
    if techniques.slide_in is not None:
        way = -_SLIDE_IN_SEMITONES if techniques.slide_in is SlideEnd.BELOW else _SLIDE_IN_SEMITONES
        yield lambda share: way * max(0.0, 1 - share / _SLIDE_IN_SHARE)
    if techniques.slide_out is not None:
        out = -_SLIDE_OUT_SEMITONES if techniques.slide_out is SlideEnd.BELOW else _SLIDE_OUT_SEMITONES
        yield lambda share: out * max(0.0, (share - _SLIDE_OUT_FROM) / (1 - _SLIDE_OUT_FROM))


def _swell(main: Touch) -> tuple[tuple[Fraction, float], ...]:
    """The volume from nothing to full over the first part of the note."""
    if not main.note.techniques.swell:
        return ()
    length = (main.end - main.start) * Fraction(_SWELL_SHARE).limit_denominator(10)
    return tuple((main.start + length * nth / 16, nth / 16) for nth in range(17))
