"""The neck: where each note lies, in frets and in millimetres.

Frets are counted from the capo, as tab counts them: fret 0 is the open string at the capo, and fret 2
under a capo on the third fret is the fifth fret of the wood. Fret wires stand in equal temperament, at
L * (1 - 2 ** (-n / 12)) from the nut for a scale length L.

Millimetres are plane coordinates: x runs from the nut towards the bridge, y from the neck's middle line
towards string 1. A fingertip stands a little behind its fret wire, never on it.
"""

from dataclasses import dataclass
from math import exp2, hypot
from typing import Final

from fretwright.base.errors import FretboardError
from fretwright.fretboard.tuning import STANDARD, Tuning
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale

FINGERTIP_BEHIND_FRET_MM: Final = 7.0
"""Middle of the fingertip behind the wire: half the width of a fingertip (from memory)."""

_SCALE_LENGTHS_MM: Final = (200.0, 1200.0)
_MAX_FRETS: Final = 36
_C_MAJOR: Final = Key(0)


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a note is stopped."""

    string: int
    """String number; 1 is the highest."""
    fret: int
    """Fret counted from the capo; 0 is the open string."""

    def __str__(self) -> str:
        return f"string {self.string}, fret {self.fret}"


@dataclass(frozen=True, slots=True)
class Neck:
    """A tuned instrument's neck and its measures."""

    tuning: Tuning = STANDARD
    scale_length_mm: float = 648.0
    """Sounding length of an open string without a capo."""
    frets: int = 22
    """Fret wires on the wood, counted from the nut."""
    capo: int = 0
    """Fret that the capo stands at; 0 is none."""
    string_spacing_nut_mm: float = 7.1
    """Distance between neighbouring strings at the nut (from memory: 35.5 mm over six strings)."""
    string_spacing_bridge_mm: float = 10.4
    """Distance between neighbouring strings at the bridge (from memory: 52 mm over six strings)."""
    left_handed: bool = False
    """Strung for the left hand to pluck: pictures of it are mirrored, and nothing else is different."""

    def __post_init__(self) -> None:
        shortest, longest = _SCALE_LENGTHS_MM
        if not shortest <= self.scale_length_mm <= longest:
            raise FretboardError(
                f"A scale length of {self.scale_length_mm:g} mm cannot be used.",
                f"Measure from nut to bridge in millimetres; from {shortest:g} to {longest:g} is possible.",
            )
        if not 1 <= self.frets <= _MAX_FRETS:
            raise FretboardError(
                f"A neck of {self.frets} frets cannot be used.", f"Give from 1 to {_MAX_FRETS} frets."
            )
        if not 0 <= self.capo < self.frets:
            raise FretboardError(
                f"A capo at fret {self.capo} cannot be used.", f"Give a fret from 0 to {self.frets - 1}."
            )
        if self.string_spacing_nut_mm <= 0 or self.string_spacing_bridge_mm <= 0:
            raise FretboardError("Strings need some distance.", "Give string spacings above 0 mm.")

    @property
    def last_fret(self) -> int:
        """The highest fret, counted from the capo."""
        return self.frets - self.capo

    def holds(self, place: Place) -> bool:
        """Whether the place exists on this neck."""
        return place.string in self.tuning.strings and 0 <= place.fret <= self.last_fret

    def midi_at(self, place: Place) -> int:
        """MIDI note that sounds at a place. Raises :class:`FretboardError` off the neck."""
        self._require(place)
        return self.tuning.open_pitches[place.string - 1].midi + self.capo + place.fret

    def pitch_at(self, place: Place, spelling: Key | Scale | None = None) -> Pitch:
        """Pitch that sounds at a place, spelled as a key or scale spells it (else as C major does).

        Raises :class:`FretboardError` off the neck.
        """
        return (spelling or _C_MAJOR).spell(self.midi_at(place))

    def places_of(self, midi: int) -> tuple[Place, ...]:
        """Every place that sounds as a MIDI note, by string number; empty where none does."""
        places = (
            Place(string, midi - self.capo - pitch.midi)
            for string, pitch in enumerate(self.tuning.open_pitches, start=1)
        )
        return tuple(place for place in places if 0 <= place.fret <= self.last_fret)

    def fret_position_mm(self, fret: int) -> float:
        """Distance of a fret wire from the nut; fret 0 is the nut, or the capo where there is one.

        Raises :class:`FretboardError` beyond the last fret.
        """
        if not 0 <= fret <= self.last_fret:
            raise self._no_such_fret(fret)
        return self.scale_length_mm * (1.0 - exp2(-(fret + self.capo) / 12.0))

    def finger_point_mm(self, place: Place) -> tuple[float, float]:
        """Where a fingertip stands to stop a place, as (x, y); an open string gives its point at the nut.

        The fingertip is :data:`FINGERTIP_BEHIND_FRET_MM` behind the wire, or in the middle between two
        wires where they stand closer together than that allows.
        Raises :class:`FretboardError` off the neck.
        """
        self._require(place)
        wire_mm = self.fret_position_mm(place.fret)
        behind_mm = 0.0
        if place.fret > 0:
            space_mm = wire_mm - self.fret_position_mm(place.fret - 1)
            behind_mm = min(FINGERTIP_BEHIND_FRET_MM, space_mm / 2.0)
        x_mm = wire_mm - behind_mm
        towards_bridge = x_mm / self.scale_length_mm
        widening_mm = self.string_spacing_bridge_mm - self.string_spacing_nut_mm
        spacing_mm = self.string_spacing_nut_mm + widening_mm * towards_bridge
        strings_above_middle = (self.tuning.string_count + 1) / 2.0 - place.string
        return x_mm, strings_above_middle * spacing_mm

    def distance_mm(self, a: Place, b: Place) -> float:
        """Straight distance between the fingertips at two places. Raises as :meth:`finger_point_mm`."""
        ax_mm, ay_mm = self.finger_point_mm(a)
        bx_mm, by_mm = self.finger_point_mm(b)
        return hypot(ax_mm - bx_mm, ay_mm - by_mm)

    def _require(self, place: Place) -> None:
        self.tuning.open_pitch(place.string)
        if not 0 <= place.fret <= self.last_fret:
            raise self._no_such_fret(place.fret)

    def _no_such_fret(self, fret: int) -> FretboardError:
        capo = f" above the capo at fret {self.capo}" if self.capo else ""
        return FretboardError(
            f"There is no fret {fret}{capo}.", f"Use a fret from 0, the open string, to {self.last_fret}."
        )
