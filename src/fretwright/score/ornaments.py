"""The touches that a note is made of: what both hands do to the strings, in seconds.

A plain note is one touch. A grace note, a trill, a tremolo or a rake adds others, on the note's own string
or beside it; a bend or a vibrato gives a touch a curve of pitch. The sound plays these touches and the ear
may look for them; neither adds any of its own.

Common practice, no source, for all times below:

* grace notes take their time from before the note, which itself sounds on its written moment;
* a rake's muted strings are swept just before the note, towards its string;
* a trill starts on the written note and alternates by hammer-ons and pull-offs; a tremolo alternates strokes,
  starting with the note's own or a downstroke; both divide the note evenly, at least in two;
* a finger that slides in is plucked on the note's moment and arrives soon after; one that slides out leaves
  towards the end of the note; a shift slide arrives on the moment of its own pluck;
* a vibrato starts after the note has been heard straight for a moment and swings to both sides of it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import pi, sin
from typing import Final

from fretwright.fretboard.neck import Neck
from fretwright.score.note import Attack
from fretwright.score.techniques import Bend, SlideEnd, Stroke, Techniques, Trill, Vibrato
from fretwright.score.timeline import TimedNote
from fretwright.score.values import Value

GRACE_S: Final = 0.07
"""Length of a grace note where there is room for it."""
RAKE_STEP_S: Final = 0.018
"""From one raked string to the next."""
RAKED_STRINGS: Final = 3
"""How many strings a rake sweeps at most."""
APPROACH_SHARE: Final = 0.5
"""Graces and rakes take at most this share of the time since the onset before."""
SLIDE_FRETS: Final = 4
"""How far away a slide from or to no particular fret begins or ends, where the neck allows it."""
SLIDE_IN_S: Final = 0.12
SLIDE_OUT_S: Final = 0.30
_SLIDE_IN_SHARE: Final = 1 / 3
_SLIDE_OUT_SHARE: Final = 0.4
"""Longest slides, and the share of their note that they take at most."""
VIBRATO_AFTER_S: Final = 0.15
_VIBRATO_AFTER_SHARE: Final = 0.2
ACCENT_FORCE: Final = 1.5
GHOST_FORCE: Final = 0.35
RAKE_FORCE: Final = 0.6
_STRUM_FALL_PER_S: Final = 3.0
"""What a strum's force loses on its way over the strings: a sixth in 55 ms."""
SWELL_SHARE: Final = 0.6
_LONGEST_SWELL_S: Final = 1.5


class Muting(StrEnum):
    """What lies on the string while it sounds."""

    NONE = "none"
    PALM = "palm"
    """The edge of the picking hand, at the bridge."""
    DEAD = "dead"
    """Fingers that touch the string without pressing it."""


@dataclass(frozen=True, slots=True)
class PitchCurve:
    """How a touch's pitch moves, in seconds of the performance."""

    corners: tuple[tuple[float, float], ...]
    """Moments and semitones above the stopped pitch: straight lines between, held before and after."""
    vibrato: Vibrato | None = None
    vibrato_from_s: float = 0.0

    def semitones_at(self, time_s: float) -> float:
        """How far the pitch lies above the stopped one."""
        bent = self._bent_at(time_s)
        since_s = time_s - self.vibrato_from_s
        if self.vibrato is None or since_s <= 0:
            return bent
        return bent + self.vibrato.width_cents / 200 * sin(2 * pi * self.vibrato.rate_hz * since_s)

    def _bent_at(self, time_s: float) -> float:
        before_s, before = self.corners[0] if self.corners else (time_s, 0.0)
        for at_s, semitones in self.corners:
            if at_s >= time_s:
                share = (time_s - before_s) / (at_s - before_s) if at_s > before_s else 1.0
                return before + share * (semitones - before)
            before_s, before = at_s, semitones
        return before


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """One touch of one string; seconds are those of the timeline."""

    string: int
    midi: int
    """Pitch of the place that is stopped; of a harmonic the stopped pitch too."""
    at_s: float
    until_s: float
    """When it is damped, unless the string is touched again before."""
    attack: Attack = Attack.PLUCK
    stroke: Stroke | None = None
    force: float = 1.0
    """1 is a plain pluck."""
    muting: Muting = Muting.NONE
    partial: int = 1
    """Which partial of the stopped string sounds; 2 and more is a harmonic."""
    curve: PitchCurve | None = None
    slides_from: int | None = None
    """The pitch at which a finger starts that slides in after the pluck."""
    arrives_s: float = 0.0
    """When that slide has arrived."""
    slides_to: int | None = None
    """The pitch towards which the finger slides away."""
    leaves_s: float = 0.0
    """When that slide starts."""
    shifts: bool = False
    """Whether the finger slid here before the pluck, from the touch before on this string."""
    swells_s: float = 0.0
    """How long the volume takes to rise from nothing; 0 for a plain attack."""


@dataclass(frozen=True, slots=True)
class TouchedNote:
    """A note of the timeline with all its touches."""

    timed: TimedNote
    touches: tuple[Touch, ...]
    """In order of time."""


def touched_notes(notes: Sequence[TimedNote], neck: Neck) -> tuple[TouchedNote, ...]:
    """The touches of every note of a timeline, in its order."""
    touched = []
    previous_s, latest_s = None, None
    for timed in notes:
        if latest_s is None or timed.onset_s > latest_s:
            previous_s, latest_s = latest_s, timed.onset_s
        room_s = float("inf") if previous_s is None else APPROACH_SHARE * (timed.onset_s - previous_s)
        before = tuple(_approach(timed, neck, room_s))
        touched.append(TouchedNote(timed, (*before, *_own(timed, neck))))
    return tuple(touched)


def lead_in_s(touched: Sequence[TouchedNote]) -> float:
    """How long before the first bar the first touch comes; 0 where nothing leads into it."""
    return max((0.0, *(-each.touches[0].at_s for each in touched)))


# ---------------------------------------------------------------------------------------------------------
# Before the note


def _approach(timed: TimedNote, neck: Neck, room_s: float) -> Iterator[Touch]:
    """Raked strings and grace notes, ending where the note sounds."""
    note, techniques = timed.note, timed.note.techniques
    raked = raked_strings(note.string, techniques.rake, neck)
    steps_s = [RAKE_STEP_S] * len(raked) + [GRACE_S] * len(techniques.graces)
    if not steps_s:
        return
    shrink = min(1.0, room_s / sum(steps_s))
    at_s = timed.sounds_s - shrink * sum(steps_s)
    for string in raked:
        midi = neck.tuning.open_pitch(string).midi + neck.capo
        yield Touch(
            string=string,
            midi=midi,
            at_s=at_s,
            until_s=timed.sounds_s,
            stroke=techniques.rake,
            force=RAKE_FORCE,
            muting=Muting.DEAD,
        )
        at_s += shrink * RAKE_STEP_S
    before: int | None = None
    for grace in techniques.graces:
        midi = grace.pitch.midi
        yield Touch(
            string=grace.place.string,
            midi=midi,
            at_s=at_s,
            until_s=timed.sounds_s,
            attack=Attack.PLUCK if before is None else _slur(before, midi),
            force=_force(techniques),
            muting=_muting(techniques),
        )
        at_s += shrink * GRACE_S
        before = midi if grace.is_slurred_on else None


def raked_strings(string: int, rake: Stroke | None, neck: Neck) -> list[int]:
    """The strings swept on the way to a string, in the order in which they are reached."""
    if rake is None:
        return []
    step = 1 if rake is Stroke.DOWN else -1
    beside = [string + step * away for away in range(RAKED_STRINGS, 0, -1)]
    return [each for each in beside if each in neck.tuning.strings]


def _slur(before: int, midi: int) -> Attack:
    return Attack.HAMMER_ON if midi > before else Attack.PULL_OFF


# ---------------------------------------------------------------------------------------------------------
# The note itself


def _own(timed: TimedNote, neck: Neck) -> tuple[Touch, ...]:
    """The note's own touch, or all of them where it is trilled or played tremolo."""
    techniques = timed.note.techniques
    whole = _whole(timed, neck)
    if techniques.trill is not None:
        return tuple(_trilled(whole, timed, techniques.trill))
    if techniques.tremolo is not None:
        return tuple(_tremolo(whole, timed, techniques.tremolo))
    return (whole,)


def _whole(timed: TimedNote, neck: Neck) -> Touch:
    note, techniques = timed.note, timed.note.techniques
    harmonic = techniques.harmonic
    open_midi = neck.tuning.open_pitch(note.string).midi + neck.capo
    midi = note.midi if harmonic is None else open_midi + harmonic.stopped
    slides_from = _slide_end(midi, techniques.slide_in, open_midi, neck.last_fret)
    slides_to = _slide_end(midi, techniques.slide_out, open_midi, neck.last_fret)
    sounding_s = timed.ends_s - timed.sounds_s
    return Touch(
        string=note.string,
        midi=midi,
        at_s=timed.sounds_s,
        until_s=timed.ends_s,
        attack=note.attack,
        stroke=note.stroke,
        force=_force(techniques) * (1.0 if techniques.roll else 1 - _STRUM_FALL_PER_S * timed.late_s),
        muting=_muting(techniques),
        partial=1 if harmonic is None else harmonic.partial,
        curve=_curve(timed),
        slides_from=slides_from,
        arrives_s=timed.sounds_s + min(SLIDE_IN_S, _SLIDE_IN_SHARE * sounding_s),
        slides_to=slides_to,
        leaves_s=timed.ends_s - min(SLIDE_OUT_S, _SLIDE_OUT_SHARE * sounding_s),
        shifts=techniques.shift_slide,
        swells_s=min(SWELL_SHARE * timed.written_s, _LONGEST_SWELL_S) if techniques.swell else 0.0,
    )


def _slide_end(midi: int, end: SlideEnd | None, open_midi: int, last_fret: int) -> int | None:
    """The pitch where a slide begins or ends; None where there is none or no fret is left for one."""
    if end is None:
        return None
    wanted = midi - SLIDE_FRETS if end is SlideEnd.BELOW else midi + SLIDE_FRETS
    reached = min(max(wanted, open_midi + 1), open_midi + last_fret)
    return reached if reached != midi else None


def _force(techniques: Techniques) -> float:
    accent = ACCENT_FORCE if techniques.accent else 1.0
    return accent * (GHOST_FORCE if techniques.ghost else 1.0)


def _muting(techniques: Techniques) -> Muting:
    if techniques.dead:
        return Muting.DEAD
    return Muting.PALM if techniques.palm_mute else Muting.NONE


def _curve(timed: TimedNote) -> PitchCurve | None:
    techniques = timed.note.techniques
    if techniques.bend is None and techniques.vibrato is None:
        return None
    wait_s = min(VIBRATO_AFTER_S, _VIBRATO_AFTER_SHARE * timed.written_s)
    corners = _corners(techniques.bend, timed) if techniques.bend else ()
    return PitchCurve(corners, techniques.vibrato, timed.sounds_s + wait_s)


def _corners(bend: Bend, timed: TimedNote) -> tuple[tuple[float, float], ...]:
    return tuple(
        (timed.onset_s + float(point.at) * timed.written_s, float(point.semitones)) for point in bend.points
    )


# ---------------------------------------------------------------------------------------------------------
# Many touches


def _divided(whole: Touch, timed: TimedNote, value: Value) -> list[Touch]:
    """The note's touch again and again for a value, evenly; each is damped where the next one begins."""
    value_s = timed.written_s * float(value.duration / timed.note.duration)
    length_s = whole.until_s - whole.at_s
    count = max(2, round(length_s / value_s))
    starts_s = [whole.at_s + index * length_s / count for index in range(count)]
    return [
        replace(whole, at_s=start_s, until_s=end_s)
        for start_s, end_s in zip(starts_s, [*starts_s[1:], whole.until_s], strict=True)
    ]


def _trilled(whole: Touch, timed: TimedNote, trill: Trill) -> Iterator[Touch]:
    midis = (whole.midi, trill.pitch.midi)
    for index, touch in enumerate(_divided(whole, timed, trill.value)):
        midi = midis[index % 2]
        if index == 0:
            yield touch
        else:
            yield replace(touch, midi=midi, attack=_slur(midis[(index - 1) % 2], midi), slides_from=None)


def _tremolo(whole: Touch, timed: TimedNote, value: Value) -> Iterator[Touch]:
    first = whole.stroke or Stroke.DOWN
    strokes = (first, Stroke.UP if first is Stroke.DOWN else Stroke.DOWN)
    for index, touch in enumerate(_divided(whole, timed, value)):
        if index == 0:
            yield replace(touch, stroke=first)
        else:
            yield replace(touch, attack=Attack.PLUCK, stroke=strokes[index % 2], slides_from=None)
