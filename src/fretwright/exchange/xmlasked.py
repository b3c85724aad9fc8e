"""Techniques as MusicXML elements.

What the standard has an element for is written with it: bends, harmonics, ornaments, articulations, note
heads, the ties of notes that ring on, the sound of a muted string. What it has none for, or says less
exactly, stands beside it as words in ``other-technical``, which other programs print or pass over: ``palm
mute``, ``rake down``, ``trill fret 9 16th``, ``vibrato 4.5 Hz 30.0 cents``, ``touched fret 19``.
"""

from fractions import Fraction
from itertools import pairwise
from typing import Final
from xml.etree.ElementTree import Element

from fretwright.exchange.xmlout import add
from fretwright.score.note import Note
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    Bend,
    Harmonic,
    HarmonicKind,
    SlideEnd,
    Techniques,
)
from fretwright.score.values import Value

TYPES: Final = ("whole", "half", "quarter", "eighth", "16th", "32nd", "64th")
"""Names of the written values, from the whole note down (``note-type-value``)."""
WORDS: Final = {
    "palm_mute": "palm mute", "shift_slide": "shift slide", "swell": "volume swell", "let_ring": "let ring",
}  # fmt: skip
"""What is asked or not, and has no element; a note that rings on has one where it is not tied."""
SLIDES_IN: Final = {SlideEnd.BELOW: "scoop", SlideEnd.ABOVE: "plop"}
SLIDES_OUT: Final = {SlideEnd.ABOVE: "doit", SlideEnd.BELOW: "falloff"}
PINCHED: Final = "pinched"
_MOST_TREMOLO_MARKS: Final = 8


def type_name(value: Value) -> str:
    """The standard's name for a value's sign."""
    return TYPES[value.base.denominator.bit_length() - 1]


def value_text(value: Value) -> str:
    """A value in words of ours: ``16th``, ``eighth.``, ``16th 3:2``."""
    ratio = f" {value.tuplet.actual}:{value.tuplet.normal}" if value.tuplet else ""
    return f"{type_name(value)}{'.' * value.dots}{ratio}"


def add_notehead(note: Element, techniques: Techniques) -> None:
    """A cross for a dead note, brackets for a soft one."""
    if techniques.dead or techniques.ghost:
        brackets = {"parentheses": "yes"} if techniques.ghost else {}
        add(note, "notehead", "x" if techniques.dead else "normal", **brackets)


def add_asked(notations: Element, technical: Element, note: Note, value: Value) -> None:
    """Append what is asked of a note to its notations and its technical signs.

    ``value`` is that of its first head, whose flags a tremolo adds to.
    """
    techniques = note.techniques
    _harmonic(technical, techniques.harmonic)
    if techniques.bend is not None:
        _bends(technical, techniques.bend)
    if note.picking_finger is not None:
        add(technical, "pluck", note.picking_finger.value)
    words = [word for field, word in WORDS.items() if getattr(techniques, field)]
    if techniques.let_ring and len(note.values) == 1:
        words.remove(WORDS["let_ring"])
    if techniques.rake is not None:
        words.append(f"rake {techniques.rake.value}")
    if techniques.roll is not None:
        add(notations, "arpeggiate", direction=techniques.roll.value)
    words += _ornaments(notations, techniques, value)
    for word in words:
        add(technical, "other-technical", word)
    _articulations(notations, techniques)


def _harmonic(technical: Element, harmonic: Harmonic | None) -> None:
    if harmonic is None:
        return
    element = add(technical, "harmonic")
    is_natural = harmonic.kind is HarmonicKind.NATURAL
    add(element, "natural" if is_natural else "artificial")
    add(element, "sounding-pitch")
    if not is_natural:
        add(technical, "other-technical", f"touched fret {harmonic.touched}")
    if harmonic.kind is HarmonicKind.PINCH:
        add(technical, "other-technical", PINCHED)


def _bends(technical: Element, bend: Bend) -> None:
    """One element for each stretch in which the string moves, with when it starts and stops in percent."""
    start = bend.points[0]
    if start.semitones:
        element = add(technical, "bend", first_beat=_percent(start.at), last_beat=_percent(start.at))
        add(element, "bend-alter", _number(start.semitones))
        add(element, "pre-bend")
    last = len(bend.points) - 2
    for nth, (one, other) in enumerate(pairwise(bend.points)):
        change = other.semitones - one.semitones
        if not change and 0 < nth < last:
            continue  # a stay between two moves follows from their times
        element = add(technical, "bend", first_beat=_percent(one.at), last_beat=_percent(other.at))
        add(element, "bend-alter", _number(change))
        if change < 0:
            add(element, "release")


def _percent(share: Fraction) -> str:
    return f"{float(share * 100):.6f}".rstrip("0").rstrip(".")


def _number(semitones: Fraction) -> str:
    return f"{float(semitones):g}"


def _ornaments(notations: Element, techniques: Techniques, value: Value) -> list[str]:
    """Trill, vibrato and tremolo, and the words for what their signs leave open."""
    ornaments = Element("ornaments")
    words = []
    trill, vibrato, tremolo = techniques.trill, techniques.vibrato, techniques.tremolo
    if trill is not None:
        add(ornaments, "trill-mark")
        words.append(f"trill fret {trill.fret} {value_text(trill.value)}")
    if vibrato is not None:
        add(ornaments, "wavy-line", type="start", number=1)
        add(ornaments, "wavy-line", type="stop", number=1)
        if vibrato != USUAL_VIBRATO or trill is not None:
            words.append(f"vibrato {vibrato.rate_hz!r} Hz {vibrato.width_cents!r} cents")
    if tremolo is not None:
        marks = tremolo.flags - value.flags
        if 1 <= marks <= _MOST_TREMOLO_MARKS:
            add(ornaments, "tremolo", marks, type="single")
        if marks < 1 or tremolo.dots or tremolo.tuplet:
            words.append(f"tremolo {value_text(tremolo)}")
    if len(ornaments):
        notations.append(ornaments)
    return words


def _articulations(notations: Element, techniques: Techniques) -> None:
    signs = [
        *(["accent"] if techniques.accent else []),
        *(["staccato"] if techniques.staccato else []),
        *([SLIDES_IN[techniques.slide_in]] if techniques.slide_in else []),
        *([SLIDES_OUT[techniques.slide_out]] if techniques.slide_out else []),
    ]
    if signs:
        articulations = add(notations, "articulations")
        for sign in signs:
            add(articulations, sign)
