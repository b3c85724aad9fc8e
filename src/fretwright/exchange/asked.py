"""What a file asks of a note, before its place on the neck is known."""

from dataclasses import dataclass, field, replace

from fretwright.base.errors import ScoreError
from fretwright.base.spans import Span
from fretwright.exchange.losses import Losses
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.techniques import (
    Finger,
    Grace,
    Harmonic,
    HarmonicKind,
    PickingFinger,
    Techniques,
    Trill,
)
from fretwright.score.values import Value
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale


@dataclass(frozen=True, slots=True)
class DraftGrace:
    """A small note as the file has it."""

    pitch: Pitch
    place: Place | None
    is_slurred_on: bool
    host: int | None = None
    """String of the note that it belongs to, where the file says so."""
    finger: Finger | None = None


@dataclass(frozen=True, slots=True)
class Asked:
    """Everything that is asked of a note beyond place, time and attack."""

    techniques: Techniques = field(default_factory=Techniques)
    """What needs no place to be understood."""
    trill: Value | None = None
    """Value of the notes of a trill."""
    trill_fret: int | None = None
    harmonic: HarmonicKind | None = None
    touched: int | None = None
    """Fret over which a stopped string is touched."""
    graces: tuple[DraftGrace, ...] = ()
    picking_finger: PickingFinger | None = None

    @property
    def is_nothing(self) -> bool:
        """Whether nothing is asked."""
        return self == NOTHING


NOTHING = Asked()


def harmonic_at(asked: Asked, place: Place) -> Harmonic | None:
    """The harmonic of a note at a place; None where none is asked or no node is there."""
    if asked.harmonic is None:
        return None
    try:
        if asked.harmonic is HarmonicKind.NATURAL:
            return Harmonic(asked.harmonic, place.fret)
        octave_up = 12 if asked.harmonic is HarmonicKind.ARTIFICIAL else 24
        return Harmonic(asked.harmonic, asked.touched or place.fret + octave_up, place.fret)
    except ScoreError:
        return None


def harmonic_midi(harmonic: Harmonic, string: int, neck: Neck) -> int:
    """The MIDI number of what a harmonic sounds."""
    return neck.midi_at(Place(string, harmonic.stopped)) + harmonic.rise


def techniques_at(
    asked: Asked, place: Place, neck: Neck, spelling: Key | Scale, losses: Losses, span: Span
) -> Techniques:
    """The techniques of a note that has got its place; what has none is said."""
    if asked.is_nothing:
        return asked.techniques
    graces = _graces(asked.graces, place, neck, losses, span)
    harmonic = harmonic_at(asked, place)
    if asked.harmonic is not None and harmonic is None:
        losses.left_out("harmonics over no node", span)
    trill = _trill(asked, place, neck, spelling, losses, span)
    return replace(asked.techniques, graces=graces, harmonic=harmonic, trill=trill)


def _graces(
    drafts: tuple[DraftGrace, ...], main: Place, neck: Neck, losses: Losses, span: Span
) -> tuple[Grace, ...]:
    """The small notes where the file has them, or else on the string of their note."""
    graces: list[Grace] = []
    following = main
    for draft in reversed(drafts):
        own = Place(main.string, draft.pitch.midi - neck.midi_at(Place(main.string, 0)))
        places = [place for place in (draft.place, own) if place is not None and neck.holds(place)]
        place = next((each for each in places if neck.midi_at(each) == draft.pitch.midi), None)
        if place is None:
            losses.left_out("grace notes that lie on another string", span)
            continue
        is_slurred_on = draft.is_slurred_on and place.string == following.string
        # A finger belongs to the place that the file names.
        finger = draft.finger if place == draft.place else None
        graces.insert(0, Grace(place, draft.pitch, is_slurred_on, finger))
        following = place
    return tuple(graces)


def _trill(
    asked: Asked, place: Place, neck: Neck, spelling: Key | Scale, losses: Losses, span: Span
) -> Trill | None:
    """The trill with the fret that is named, or with the next note of the key or scale."""
    if asked.trill is None:
        return None
    own = neck.midi_at(place)
    steps = (fret for fret in (place.fret + 1, place.fret + 2) if _holds(spelling, own + fret - place.fret))
    fret = asked.trill_fret if asked.trill_fret is not None else next(steps, place.fret + 2)
    other = Place(place.string, fret)
    if not neck.holds(other):
        losses.left_out("trills beyond the neck", span)
        return None
    return Trill(fret, spelling.spell(neck.midi_at(other)), asked.trill)


def _holds(spelling: Key | Scale, midi: int) -> bool:
    """Whether a pitch belongs to a key or a scale."""
    if isinstance(spelling, Scale):
        return spelling.contains(midi)
    name = spelling.spell(midi).name
    return spelling.alter_of(name.letter) == name.alter
