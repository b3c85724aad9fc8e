"""Voicings: one chord on strings and frets, with the fingers that hold it and what makes it hard.

Everything is counted by string number, index 0 being string 1; frets are counted from the capo. A voicing
is written as guitarists write it, from the lowest string up with x for a string that stays silent:
``x32010``, or ``x-10-12-12-11-10`` where a fret has two digits.
"""

import re
from dataclasses import dataclass, fields
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.fretboard.neck import Neck, Place
from fretwright.theory.chord import Chord
from fretwright.theory.pitch import Pitch

THUMB: Final = 5
"""The thumb among the fingers 1 to 4; 0 is no finger, on an open string or a silent one."""

Frets = tuple[int | None, ...]
"""A fret for each string from string 1; 0 is open, None silent."""


@dataclass(frozen=True, slots=True)
class Barre:
    """One finger laid flat over several strings."""

    finger: int
    fret: int
    low_string: int
    """The string under its tip, which has the larger number."""
    high_string: int

    @property
    def width(self) -> int:
        """How many strings it covers."""
        return self.low_string - self.high_string + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Ease:
    """What a voicing costs, term by term, in mm-equivalents as fingering counts them; less is easier.

    The millimetres of ``stretch`` and ``crowding`` are real ones; the others are what a player would move
    to be spared the trouble (common practice, no source).
    """

    fingers: float = 0.0
    """3 for each finger that is down."""
    stretch: float = 0.0
    """Half of the spread beyond the comfortable one between any two fingers, which settle together; all of it
    between ring and little finger."""
    crowding: float = 0.0
    """A tenth of the way back from each finger's own fret, where every finger has one to itself; a quarter of
    the way ahead of it."""
    weak_finger: float = 0.0
    """1 for the ring finger, 2 for the little one, 12 for the thumb."""
    barre: float = 0.0
    """10 for a flat finger and 1 for each string under it; double for other fingers than the first."""
    bend: float = 0.0
    """8 for a flat finger that is bent back so that a higher string sounds freely."""
    order: float = 0.0
    """8 for each pair of fingers at one fret that stand in the unusual order."""
    hover: float = 0.0
    """0.5 for each open string and each fret that the first finger is away from the first position."""
    position: float = 0.0
    """6 for each fret that the lowest finger is above the first."""
    silent: float = 0.0
    """For strings left out: 8 for each of the two lowest, 36 for each more below the bass, 26 for each above
    the chord, 40 for one inside it. A chord of two notes leaves strings out at its edges for nothing; on
    a reentrant tuning both edges cost the same."""
    unison: float = 0.0
    """12 for each string that only doubles the pitch of another."""
    omitted: float = 0.0
    """6 for each chord tone that is left out."""

    @property
    def total(self) -> float:
        """All terms together."""
        return float(sum(getattr(self, field.name) for field in fields(self)))

    @property
    def terms(self) -> dict[str, float]:
        """The terms that are not 0, by name, rounded to a tenth for a reader."""
        named = {field.name: round(getattr(self, field.name), 1) for field in fields(self)}
        return {name: value for name, value in named.items() if value}


@dataclass(frozen=True, slots=True)
class Grip:
    """One way for the hand to hold given frets."""

    fingers: tuple[int, ...]
    """For each string from string 1: 1 to 4, :data:`THUMB`, or 0 for none."""
    barres: tuple[Barre, ...]
    position: int
    """Fret of the first finger, or where it hovers; 1 at the least."""
    ease: Ease

    def text(self, frets: Frets) -> str:
        """The fingers from the lowest string up: T the thumb, 0 an open string, x a silent one."""
        held = reversed(list(zip(self.fingers, frets, strict=True)))
        return "".join(
            "x" if fret is None else "T" if finger == THUMB else str(finger) for finger, fret in held
        )


@dataclass(frozen=True, slots=True)
class Voicing:
    """A chord held on a neck."""

    chord: Chord
    neck: Neck
    frets: Frets
    grip: Grip
    alternatives: tuple[Grip, ...] = ()
    """Other ways to hold the same frets, from the easiest on."""

    @property
    def fingers(self) -> tuple[int, ...]:
        """The fingers of the grip, for each string from string 1."""
        return self.grip.fingers

    @property
    def barres(self) -> tuple[Barre, ...]:
        """The flat fingers of the grip."""
        return self.grip.barres

    @property
    def position(self) -> int:
        """Fret of the first finger; 0 where open strings sound under a hand in the first position."""
        return 0 if 0 in self.frets and self.grip.position == 1 else self.grip.position

    @property
    def ease(self) -> Ease:
        """What it costs the hand and the sound."""
        return self.grip.ease

    @property
    def places(self) -> tuple[Place, ...]:
        """What sounds, from the string with the highest number down."""
        return tuple(
            Place(string, fret)
            for string, fret in reversed(list(enumerate(self.frets, start=1)))
            if fret is not None
        )

    @property
    def pitches(self) -> tuple[Pitch, ...]:
        """What sounds in the order of :attr:`places`, spelled as the chord spells it."""
        return tuple(self.chord.spell(self.neck.midi_at(place)) for place in self.places)

    @property
    def fingers_text(self) -> str:
        """The fingers from the lowest string up: ``x32010``, the fourth string under the middle finger."""
        return self.grip.text(self.frets)

    @property
    def text(self) -> str:
        """The frets from the lowest string up: ``x32010``."""
        return frets_text(self.frets)


def frets_text(frets: Frets) -> str:
    """Frets as guitarists write them, the lowest string first."""
    words = ["x" if fret is None else str(fret) for fret in reversed(frets)]
    return ("-" if any(len(word) > 1 for word in words) else "").join(words)


def is_row_of_frets(text: str) -> bool:
    """Whether a text is meant for frets and not for a chord's name: it starts with a figure or an x."""
    return bool(re.match(r"\s*[xX0-9]", text))


def parse_frets(text: str) -> Frets:
    """Read frets from the lowest string up: ``x32010``, ``x 3 2 0 1 0``, ``x-10-12-12-11-10``.

    Raises :class:`NotationError` where it is no row of frets.
    """
    compact = text.strip()
    words = re.split(r"[-,\s]+", compact) if re.search(r"[-,\s]", compact) else list(compact)
    if not words or not all(re.fullmatch(r"[xX]|[0-9]{1,2}", word) for word in words):
        raise NotationError(
            f'"{text[:40]}" is not a row of frets.',
            "Write one for each string from the lowest up, x for a silent one, such as x32010 or "
            "x-10-12-12-11-10.",
        )
    return tuple(None if word in "xX" else int(word) for word in reversed(words))
