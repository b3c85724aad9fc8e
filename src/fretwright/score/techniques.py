"""How a note is played beyond its place, its time and its attack.

Everything here is what a page says of a note: signs, numbers and the shapes of curves in written time. What
comes of it in seconds is the sound's to say, what it looks like the engraving's.
"""

from dataclasses import dataclass
from enum import IntEnum, StrEnum
from fractions import Fraction
from math import log2
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.fretboard.neck import Place
from fretwright.score.values import Value
from fretwright.theory.pitch import Pitch


class Stroke(StrEnum):
    """Which way the picking hand moves."""

    DOWN = "down"
    UP = "up"


class Roll(StrEnum):
    """Which way a rolled chord goes: its notes start one after the other and all sound on.

    Up and down are those of the page and of the pitch, so that a roll up starts on the lowest string.
    """

    UP = "up"
    DOWN = "down"

    @property
    def stroke(self) -> Stroke:
        """The stroke that meets the strings in this order."""
        return Stroke.DOWN if self is Roll.UP else Stroke.UP


class Finger(IntEnum):
    """A finger of the fretting hand, numbered as fingering digits are printed."""

    OPEN = 0
    """No finger: an open string."""
    INDEX = 1
    MIDDLE = 2
    RING = 3
    LITTLE = 4
    THUMB = 5

    @property
    def mark(self) -> str:
        """The printed digit: 0 to 4, or T."""
        return "T" if self is Finger.THUMB else str(self.value)

    @property
    def spoken(self) -> str:
        """The finger as a teacher says it."""
        return _SPOKEN_FINGERS[self]


_SPOKEN_FINGERS = {
    Finger.OPEN: "open",
    Finger.INDEX: "first finger",
    Finger.MIDDLE: "second finger",
    Finger.RING: "third finger",
    Finger.LITTLE: "fourth finger",
    Finger.THUMB: "thumb",
}


class PickingFinger(StrEnum):
    """A finger of the picking hand, by the initials that the trade prints (common practice, no source)."""

    THUMB = "p"
    INDEX = "i"
    MIDDLE = "m"
    RING = "a"

    @property
    def spoken(self) -> str:
        """The finger as a teacher says it."""
        return {"p": "thumb", "i": "index", "m": "middle", "a": "ring"}[self.value]


@dataclass(frozen=True, slots=True)
class BendPoint:
    """One corner of a bend's curve."""

    at: Fraction
    """Share of the whole note's length that has passed, 0 to 1."""
    semitones: Fraction
    """How far the string is pulled above the fretted pitch; quarters of a tone are halves of a semitone."""


@dataclass(frozen=True, slots=True)
class Bend:
    """A string pulled sideways: straight lines between corners, held after the last one."""

    points: tuple[BendPoint, ...]

    def __post_init__(self) -> None:
        times = [point.at for point in self.points]
        if len(times) < 1 or times != sorted(set(times)) or not 0 <= times[0] <= times[-1] <= 1:
            message = "the corners of a bend lie inside the note, one after the other"
            raise ScoreError(message)
        if any(point.semitones < 0 for point in self.points) or self.peak == 0:
            message = "a bend raises the pitch"
            raise ScoreError(message)

    @property
    def peak(self) -> Fraction:
        """The furthest it goes, in semitones above the fretted pitch."""
        return max(point.semitones for point in self.points)

    @property
    def starts_bent(self) -> bool:
        """Whether the string is pulled before it is struck: a pre-bend."""
        return self.points[0].semitones > 0

    @property
    def is_released(self) -> bool:
        """Whether it comes back down from its peak."""
        return self.points[-1].semitones < self.peak

    @property
    def target(self) -> Fraction:
        """Where it ends, in semitones above the fretted pitch."""
        return self.points[-1].semitones

    def semitones_at(self, share: Fraction) -> Fraction:
        """How far the string is pulled after a share of the note's length."""
        before = self.points[0]
        for point in self.points:
            if point.at >= share:
                if point.at == before.at:
                    return point.semitones
                part = (share - before.at) / (point.at - before.at)
                return before.semitones + part * (point.semitones - before.semitones)
            before = point
        return before.semitones


def bend_up(semitones: Fraction, until: Fraction = Fraction(1, 3)) -> Bend:
    """A bend that starts with the note, arrives after a share of it and stays."""
    return Bend((BendPoint(Fraction(0), Fraction(0)), BendPoint(until, semitones)))


def bend_and_release(semitones: Fraction) -> Bend:
    """Up in the first quarter of the note, held to its half, and down by three quarters."""
    quarter = Fraction(1, 4)
    return Bend(
        (
            BendPoint(Fraction(0), Fraction(0)),
            BendPoint(quarter, semitones),
            BendPoint(2 * quarter, semitones),
            BendPoint(3 * quarter, Fraction(0)),
        )
    )


def pre_bend(semitones: Fraction) -> Bend:
    """Pulled before it is struck, and held."""
    return Bend((BendPoint(Fraction(0), semitones),))


def pre_bend_and_release(semitones: Fraction) -> Bend:
    """Pulled before it is struck, held for half of the note, and let down by three quarters."""
    return Bend(
        (
            BendPoint(Fraction(0), semitones),
            BendPoint(Fraction(1, 2), semitones),
            BendPoint(Fraction(3, 4), Fraction(0)),
        )
    )


@dataclass(frozen=True, slots=True)
class Vibrato:
    """A pitch that swings to and fro around the note's own."""

    rate_hz: float = 5.5
    """Swings a second; 4 to 7 is usual (from memory)."""
    width_cents: float = 40.0
    """From the lowest to the highest pitch of a swing."""

    def __post_init__(self) -> None:
        if not (0.5 <= self.rate_hz <= 12 and 1 <= self.width_cents <= 400):
            message = f"a vibrato of {self.rate_hz:g} Hz and {self.width_cents:g} cents cannot be played"
            raise ScoreError(message, "Use 0.5 to 12 swings a second and 1 to 400 cents.")

    @property
    def is_wide(self) -> bool:
        """Whether it is written with the larger wave."""
        return self.width_cents >= WIDE_VIBRATO.width_cents


USUAL_VIBRATO: Final = Vibrato()
WIDE_VIBRATO: Final = Vibrato(5.0, 100.0)


class HarmonicKind(StrEnum):
    """How a harmonic is made to speak."""

    NATURAL = "natural"
    """An open string touched over a node."""
    ARTIFICIAL = "artificial"
    """A stopped string touched over a node by the picking hand."""
    PINCH = "pinch"
    """A stopped string touched by the thumb in the moment of plucking."""


_NODE_PARTIALS: Final = {
    12: 2, 7: 3, 19: 3, 5: 4, 24: 4, 4: 5, 9: 5, 16: 5, 28: 5, 3: 6, 31: 6,
}  # fmt: skip
"""Frets above the stopped end that lie over a node of a partial, the simplest partial first (the node of
partial n at 1/n of the string lies over fret 12 log2(n / (n - 1)), rounded to the fret the trade names)."""


@dataclass(frozen=True, slots=True)
class Harmonic:
    """A string that sounds in parts because it is touched over a node."""

    kind: HarmonicKind
    touched: int
    """Fret over which the string is touched, counted from the capo as all frets are."""
    stopped: int = 0
    """Fret that is pressed; 0 for a natural harmonic."""

    def __post_init__(self) -> None:
        if self.touched - self.stopped not in _NODE_PARTIALS:
            message = f"there is no clear harmonic {self.touched - self.stopped} frets above the stopped end"
            raise ScoreError(message, "Touch the string 12, 7, 5, 19, 24, 4, 9, 16 or 3 frets above it.")

    @property
    def partial(self) -> int:
        """Which partial of the stopped string sounds: 2 is the octave."""
        return _NODE_PARTIALS[self.touched - self.stopped]

    @property
    def rise(self) -> int:
        """Semitones from the stopped (or open) string up to the tempered pitch nearest to the partial."""
        return round(12 * log2(self.partial))

    @property
    def fret(self) -> int:
        """The fret of the note's place: the one touched of a natural harmonic, else the one stopped."""
        return self.touched if self.kind is HarmonicKind.NATURAL else self.stopped


@dataclass(frozen=True, slots=True)
class Trill:
    """A fast change with a higher fret of the same string, by hammer-ons and pull-offs, all note long."""

    fret: int
    """The other fret, counted from the capo."""
    pitch: Pitch
    """Its sounding pitch."""
    value: Value
    """How long each of its notes is."""


class SlideEnd(StrEnum):
    """Where a slide without a second note comes from or goes to."""

    BELOW = "below"
    ABOVE = "above"


@dataclass(frozen=True, slots=True)
class Grace:
    """A small note with no time of its own, played into the note it belongs to and just before its time."""

    place: Place
    pitch: Pitch
    is_slurred_on: bool = True
    """Whether the main note, or the next grace note, is reached from it without a new pluck: by hammer-on
    or pull-off as the frets say. It is then on the same string."""
    finger: Finger | None = None
    """``None`` until it is fixed by the teacher or found by the fingering search."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Techniques:
    """What is asked of one note; a plain note asks for nothing."""

    bend: Bend | None = None
    vibrato: Vibrato | None = None
    harmonic: Harmonic | None = None
    trill: Trill | None = None
    tremolo: Value | None = None
    """The note is plucked again and again, each time for this value."""
    slide_in: SlideEnd | None = None
    """The finger slides into the note from no particular fret."""
    slide_out: SlideEnd | None = None
    """The finger slides away at the end of the note, to no particular fret."""
    shift_slide: bool = False
    """The finger slides here from the note before on this string, and the note is plucked all the same."""
    graces: tuple[Grace, ...] = ()
    """Before the note, in the order in which they are played."""
    rake: Stroke | None = None
    """Muted strings beside it are swept in this direction on the way to the note."""
    roll: Roll | None = None
    """Together with the notes that start with it and have the same roll it is spread into a broken chord."""
    palm_mute: bool = False
    let_ring: bool = False
    """The note sounds on until its string is needed again or the ringing passage ends."""
    dead: bool = False
    """A string that is only touched: a knock without a pitch, written as a cross."""
    ghost: bool = False
    """Played much more softly, written in brackets."""
    staccato: bool = False
    accent: bool = False
    swell: bool = False
    """The volume rises from nothing, so that no attack is heard."""

    @property
    def is_plain(self) -> bool:
        """Whether nothing is asked for."""
        return self == PLAIN


PLAIN: Final = Techniques()
