"""What stands beside a note in MusicXML: string, fret, finger, stroke, slurs, and what no score can hold."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from fretwright.exchange.asked import NOTHING, Asked
from fretwright.exchange.xmlasked_in import AskedReader
from fretwright.exchange.xmltree import Node
from fretwright.fretboard.neck import Place
from fretwright.fretboard.tuning import MAX_STRINGS
from fretwright.score.note import Attack, Finger
from fretwright.score.techniques import Stroke
from fretwright.score.values import BASES, Tuplet, Value

_TYPES: Final = {
    "whole": 0, "half": 1, "quarter": 2, "eighth": 3, "16th": 4, "32nd": 5, "64th": 6,
}  # fmt: skip
_MOST_DOTS: Final = 2
_MOST_IN_TUPLET: Final = 64
_MOST_FRET: Final = 36

_JOINS: Final = {
    "hammer-on": Attack.HAMMER_ON,
    "pull-off": Attack.PULL_OFF,
    "slide": Attack.SLIDE,
    "glissando": Attack.SLIDE,
}
_STROKES: Final = {"down-bow": Stroke.DOWN, "up-bow": Stroke.UP}
_CARRIED: Final = {
    "tied", "slur", "tuplet", "technical", "articulations", "ornaments", "arpeggiate", "footnote", "level",
} | _JOINS.keys()  # fmt: skip
_ELSEWHERE: Final = frozenset({"string", "fret", "bend", "harmonic", "pluck", "other-technical"})
"""Technical signs that are read with all that is asked of a note."""
_WORDS: Final = {
    "fermata": "fermatas", "non-arpeggiate": "brackets over chords that are not rolled",
    "dynamics": "dynamics", "accidental-mark": "accidentals of ornaments", "other-notation": "other signs",
    "open-string": "", "thumb-position": "thumb positions",
}  # fmt: skip
"""What signs are called in findings; others go by the standard's own name."""


def value_of_note(note: Node) -> Value | None:
    """The written value of a note or rest, where the score has one like it."""
    power = _TYPES.get(note.words("type"))
    dots = sum(1 for _ in note.all("dot"))
    if power is None or dots > _MOST_DOTS:
        return None
    tuplet = None
    ratio = note.find("time-modification")
    if ratio is not None:
        actual, normal = ratio.number("actual-notes"), ratio.number("normal-notes")
        if not actual or not normal or not 0 < max(actual, normal) <= _MOST_IN_TUPLET:
            return None
        tuplet = Tuplet(actual, normal) if actual != normal else None
    return Value(BASES[power], dots, tuplet)


@dataclass(slots=True)
class Marks:
    """The marks of one written head."""

    place: Place | None = None
    finger: Finger | None = None
    stroke: Stroke | None = None
    is_tapped: bool = False
    starts: list[tuple[str, str]] = field(default_factory=list)
    """Kind and number of everything that leaves the note: slurs, hammer-ons, pull-offs, slides."""
    stops: list[tuple[str, str]] = field(default_factory=list)
    """The same for everything that reaches it."""
    unheld: list[str] = field(default_factory=list)
    """In words, what no score can hold."""
    asked: Asked = NOTHING
    lets_ring: bool = False


def read_marks(note: Node) -> Marks:
    """Read the notations of a note."""
    marks = Marks()
    value = value_of_note(note)
    reader = AskedReader(value.flags if value is not None else 0)
    marks.asked = reader.read(note)
    marks.lets_ring = marks.asked.techniques.let_ring
    marks.unheld += reader.unheld
    for notations in note.all("notations"):
        for sign in notations:
            if sign.tag == "technical":
                _read_technical(sign, marks)
            elif sign.tag == "slur" or sign.tag in _JOINS:
                _read_end(sign, marks)
            elif sign.tag not in _CARRIED:
                _note_unheld(sign.tag, marks)
    return marks


def _read_technical(technical: Node, marks: Marks) -> None:
    string, fret = technical.number("string"), technical.number("fret")
    if string is not None and fret is not None and 0 < string <= MAX_STRINGS and 0 <= fret <= _MOST_FRET:
        marks.place = Place(string, fret)
    for sign in technical:
        if sign.tag in _STROKES:
            marks.stroke = _STROKES[sign.tag]
        elif sign.tag == "fingering":
            marks.finger = marks.finger if marks.finger is not None else _finger(sign.text)
        elif sign.tag in _JOINS:
            _read_end(sign, marks)
        elif sign.tag == "tap":
            marks.is_tapped = True
        elif sign.tag not in _ELSEWHERE:
            _note_unheld(sign.tag, marks)


def _read_end(sign: Node, marks: Marks) -> None:
    # A glissando is played as a slide, and numbered apart from one.
    end = (sign.tag, sign.get("number", "1"))
    if sign.get("type") == "start":
        marks.starts.append(end)
    elif sign.get("type") == "stop":
        marks.stops.append(end)


def _note_unheld(tag: str, marks: Marks) -> None:
    words = _WORDS.get(tag, f"{tag.replace('-', ' ')} signs")
    if words:
        marks.unheld.append(words)


def _finger(text: str) -> Finger | None:
    text = text.strip().upper()
    if text == "T":
        return Finger.THUMB
    return Finger(int(text)) if text in {"0", "1", "2", "3", "4"} else None


@dataclass(slots=True)
class OpenEnds:
    """Slurs and joins that have begun and not ended, and what that says of a note that they reach."""

    names_joins: bool = False
    """Whether hammer-ons, pull-offs or slides were named anywhere; a bare slur then only phrases."""
    _begun: dict[tuple[str, str], Fraction] = field(default_factory=dict)

    def pass_note(
        self, marks: Marks, onset: Fraction, *, is_struck: bool
    ) -> tuple[Attack, Fraction | None, bool]:
        """How a note is attacked, the onset of the note it is slurred from, and whether a slur reaches it."""
        attack, source, in_slur = Attack.TAP if marks.is_tapped else Attack.PLUCK, None, False
        if is_struck:
            in_slur = any(kind == "slur" and begun < onset for (kind, _), begun in self._begun.items())
            for kind, number in marks.stops:
                begun = self._begun.get((kind, number))
                if kind in _JOINS and (begun is None or begun < onset):
                    attack, source = _JOINS[kind], begun
        self.names_joins = self.names_joins or attack.is_slur
        for end in marks.stops:
            if self._begun.get(end, onset) < onset:
                del self._begun[end]
        for end in marks.starts:
            self._begun[end] = onset
        return attack, source, in_slur
