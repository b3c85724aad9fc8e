"""What a number of a tab sounds and asks for, once the neck and the spelling are known."""

import re
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.course.entries import Entries, Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.tabgrid import Fretted
from fretwright.course.tabsigns import GraceSign
from fretwright.course.values import refuse
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Head
from fretwright.score.note import Attack, Finger
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    WIDE_VIBRATO,
    Grace,
    Stroke,
    Techniques,
    Trill,
    Vibrato,
)
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch
from fretwright.theory.scale import Scale

_RATE: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*(?:hz|swings?(?: a second)?)")
_WIDTH: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*cents?")
VIBRATO_KEYS: Final = {"vibrato": USUAL_VIBRATO, "wide vibrato": WIDE_VIBRATO}
"""Keys that say what one wave and two waves stand for, and what they do where nothing is said."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """What turns numbers into pitches."""

    neck: Neck
    spelling: Key | Scale
    vibratos: tuple[Vibrato, Vibrato]
    """Of one wave and of two."""

    def pitch_at(self, place: Place) -> Pitch:
        """The pitch of a place."""
        return self.neck.pitch_at(place, self.spelling)


def read_vibratos(entries: Entries, notebook: Notebook) -> tuple[Vibrato, Vibrato]:
    """How fast and how wide vibrato is: the usual one and the wide one."""
    usual, wide = (_vibrato(entries.get(name), most, notebook) for name, most in VIBRATO_KEYS.items())
    return usual, wide


def _vibrato(entry: Entry | None, usual: Vibrato, notebook: Notebook) -> Vibrato:
    if entry is None or entry.is_empty:
        return usual
    rate_hz, width_cents = usual.rate_hz, usual.width_cents
    for part in entry.parts():
        text = part.text.lower()
        if match := _RATE.fullmatch(text):
            rate_hz = float(match[1])
        elif match := _WIDTH.fullmatch(text):
            width_cents = float(match[1])
        else:
            refuse(entry, 'Write how fast and how wide, such as "5.5 Hz, 40 cents".', notebook)
            return usual
    try:
        return Vibrato(rate_hz, width_cents)
    except ScoreError as error:
        notebook.refused("bad-value", entry.span, error)
        return usual


def head_of(
    fretted: Fretted, finger: Finger | None, stroke: Stroke | None, instrument: Instrument, notebook: Notebook
) -> Head:
    """One string's part of an event; what its small notes get wrong is written down."""
    sign, place = fretted.sign, fretted.place
    graces = _graces(fretted, instrument, notebook)
    trill = None
    if sign.trill is not None:
        fret, value = sign.trill
        trill = Trill(fret, instrument.pitch_at(Place(place.string, fret)), value)
    pitch = instrument.pitch_at(place)
    if sign.harmonic is not None:
        stopped = Place(place.string, sign.harmonic.stopped)
        pitch = instrument.spelling.spell(instrument.neck.midi_at(stopped) + sign.harmonic.rise)
    return Head(
        place=place,
        pitch=pitch,
        attack=fretted.attack,
        finger=finger,
        stroke=stroke if fretted.attack is Attack.PLUCK else None,
        source=fretted.span,
        techniques=Techniques(
            bend=sign.bend,
            vibrato=instrument.vibratos[sign.waves - 1] if sign.waves else None,
            harmonic=sign.harmonic,
            trill=trill,
            slide_in=fretted.slide_in,
            slide_out=fretted.slide_out,
            shift_slide=fretted.shift_slide,
            graces=graces,
            dead=sign.dead,
            ghost=sign.ghost,
        ),
    )


def _graces(fretted: Fretted, instrument: Instrument, notebook: Notebook) -> tuple[Grace, ...]:
    """The small notes before a number, each with its place and pitch."""
    places = [_place(sign, fretted.place.string, instrument.neck, notebook) for sign in fretted.sign.graces]
    targets = [*places[1:], fretted.place] if places else []
    graces = []
    for sign, place, target in zip(fretted.sign.graces, places, targets, strict=True):
        if place is None or target is None:
            continue
        is_slurred_on = sign.link != ","
        if is_slurred_on and (place.string != target.string or not _moves(sign.link, place, target)):
            message = f"The small note {quoted(sign.span.text)} cannot be slurred into {target}."
            mend = "Write h into a higher fret and p into a lower one of the same string, or a comma."
            notebook.error("bad-grace", sign.span, message, mend)
        graces.append(Grace(place, instrument.pitch_at(place), is_slurred_on))
    return tuple(graces)


def _moves(link: str, place: Place, target: Place) -> bool:
    """Whether a slur goes the way its sign says."""
    rise = target.fret - place.fret
    return rise > 0 if link == "h" else rise < 0 if link == "p" else rise != 0


def _place(sign: GraceSign, string: int, neck: Neck, notebook: Notebook) -> Place | None:
    place = Place(sign.string or string, sign.fret)
    if sign.string is not None and sign.string not in neck.tuning.strings:
        message = (
            f"The small note {quoted(sign.span.text)} stands on string {sign.string}, which is not there."
        )
        mend = f"Write a string from 1, the highest, to {neck.tuning.string_count}."
        notebook.error("bad-grace", sign.span, message, mend)
        return None
    return place
