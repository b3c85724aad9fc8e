"""Chord diagrams in MusicXML: the frame of a chord name, out and in."""

from typing import Final
from xml.etree.ElementTree import Element

from fretwright.base.errors import FretwrightError
from fretwright.exchange.xmlout import add
from fretwright.exchange.xmltree import Node
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.voicing import THUMB, Voicing
from fretwright.fretboard.voicings import voicing_of
from fretwright.theory.chord import Chord

_FEWEST_FRETS: Final = 4


def add_frame(harmony: Element, voicing: Voicing) -> None:
    """Append how a chord is held: a place for each string that sounds, barres by their ends.

    Strings that stay silent have no place in the frame. Frets count from the capo.
    """
    stopped = [fret for fret in voicing.frets if fret]
    first = min(stopped, default=1) if max(stopped, default=0) > _FEWEST_FRETS else 1
    frame = add(harmony, "frame", unplayed="x")
    add(frame, "frame-strings", len(voicing.frets))
    add(frame, "frame-frets", max(_FEWEST_FRETS, max(stopped, default=1) - first + 1))
    if first > 1:
        add(frame, "first-fret", first)
    ends = {barre.low_string: "start" for barre in voicing.barres}
    ends |= {barre.high_string: "stop" for barre in voicing.barres}
    for place in voicing.places:
        note = add(frame, "frame-note")
        add(note, "string", place.string)
        add(note, "fret", place.fret)
        finger = voicing.fingers[place.string - 1]
        if finger:
            add(note, "fingering", "T" if finger == THUMB else finger)
        if place.string in ends and place.fret:
            add(note, "barre", type=ends[place.string])


def read_frame(frame: Node, name: str, neck: Neck) -> Voicing | None:
    """How a chord is held by its diagram; None where the diagram, or the chord's name, is none of ours."""
    strings = neck.tuning.string_count
    frets: list[int | None] = [None] * strings
    fingers = [0] * strings
    for note in frame.all("frame-note"):
        string, fret = note.number("string"), note.number("fret")
        if string is None or fret is None or not 1 <= string <= strings:
            return None
        frets[string - 1] = fret
        text = note.words("fingering").upper()
        fingers[string - 1] = THUMB if text == "T" else int(text) if text in {"1", "2", "3", "4"} else 0
    thumb = THUMB in fingers
    try:
        chord = Chord.parse(name)
        usual = voicing_of(chord, tuple(frets), neck, thumb=thumb)
        if usual.fingers == tuple(fingers) or not any(fingers):
            return usual
        return voicing_of(chord, tuple(frets), neck, fingers=tuple(fingers), thumb=thumb)
    except FretwrightError:
        return None
