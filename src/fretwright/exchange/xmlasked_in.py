"""What the signs beside a note in MusicXML ask of it."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

from fretwright.base.errors import ScoreError
from fretwright.exchange.asked import Asked
from fretwright.exchange.xmlasked import PINCHED, SLIDES_IN, SLIDES_OUT, TYPES, WORDS
from fretwright.exchange.xmltree import Node
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    Bend,
    BendPoint,
    HarmonicKind,
    PickingFinger,
    Roll,
    Stroke,
    Techniques,
    Vibrato,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from fretwright.score.values import BASES, SIXTEENTH, Tuplet, Value

_VALUE: Final = rf"({'|'.join(TYPES)})(\.{{0,2}})(?: ([0-9]{{1,2}}):([0-9]{{1,2}}))?"
_TRILL: Final = re.compile(rf"trill fret ([0-9]{{1,2}}) {_VALUE}")
_TREMOLO: Final = re.compile(rf"tremolo {_VALUE}")
_VIBRATO: Final = re.compile(r"vibrato ([0-9.]{1,20}) Hz ([0-9.]{1,20}) cents")
_TOUCHED: Final = re.compile(r"touched fret ([0-9]{1,2})")
_RAKE: Final = re.compile(r"rake (down|up)")
_ARTICULATIONS: Final = {
    "accent": ("accent", True), "strong-accent": ("accent", True), "staccato": ("staccato", True),
    "staccatissimo": ("staccato", True),
    **{sign: ("slide_in", end) for end, sign in SLIDES_IN.items()},
    **{sign: ("slide_out", end) for end, sign in SLIDES_OUT.items()},
}  # fmt: skip
_FINEST: Final = 1000
"""Parts of a note's length that the corners of a bend can fall on."""
_MOST_SEMITONES: Final = 24


@dataclass(slots=True)
class AskedReader:
    """Gathers what is asked of one note."""

    flags: int = 0
    """Of the note's own value, which a tremolo adds to."""
    fields: dict[str, Any] = field(default_factory=dict)
    bends: list[Node] = field(default_factory=list)
    unheld: list[str] = field(default_factory=list)
    trill: Value | None = None
    trill_fret: int | None = None
    harmonic: HarmonicKind | None = None
    touched: int | None = None
    picking_finger: PickingFinger | None = None

    def read(self, note: Node) -> Asked:
        """Everything that stands beside a note."""
        head = note.find("notehead")
        if head is not None:
            self.fields["ghost"] = head.get("parentheses") == "yes"
            self.fields["dead"] = head.text.strip() == "x"
        if any(mute.text.strip() == "palm" for mute in note.all("play/mute")):
            self.fields["palm_mute"] = True
        if any(tie.get("type") == "let-ring" for tie in note.all("notations/tied")):
            self.fields["let_ring"] = True
        rolled = note.find("notations/arpeggiate")
        if rolled is not None:
            self.fields["roll"] = Roll.DOWN if rolled.get("direction") == "down" else Roll.UP
        for notations in note.all("notations"):
            for group in notations:
                for sign in group if group.tag in {"technical", "articulations", "ornaments"} else ():
                    self._sign(group.tag, sign)
        if self.bends:
            self.fields["bend"] = read_bend(self.bends)
            if self.fields["bend"] is None:
                self.unheld.append("bends")
        return Asked(
            Techniques(**self.fields),
            self.trill,
            self.trill_fret,
            self.harmonic,
            self.touched,
            picking_finger=self.picking_finger,
        )

    def _sign(self, group: str, sign: Node) -> None:
        if group == "articulations":
            if sign.tag in _ARTICULATIONS:
                name, value = _ARTICULATIONS[sign.tag]
                self.fields[name] = value
            else:
                self.unheld.append("articulations")
        elif group == "ornaments":
            self._ornament(sign)
        else:
            self._technical(sign)

    def _ornament(self, sign: Node) -> None:
        if sign.tag == "trill-mark":
            self.trill = self.trill or SIXTEENTH
            self.fields.setdefault("vibrato", None)
        elif sign.tag == "wavy-line":
            if sign.get("type") == "start" and self.trill is None:
                self.fields.setdefault("vibrato", USUAL_VIBRATO)
        elif sign.tag == "tremolo" and sign.get("type", "single") == "single":
            marks = int(sign.text) if sign.text.strip().isdecimal() else 0
            flags = self.flags + min(marks, len(BASES))
            if marks and flags + 2 < len(BASES):
                self.fields.setdefault("tremolo", Value(BASES[flags + 2]))
        elif sign.tag != "accidental-mark":
            self.unheld.append("ornaments")

    def _technical(self, sign: Node) -> None:
        match sign.tag:
            case "bend":
                self.bends.append(sign)
            case "harmonic":
                is_artificial = sign.find("artificial") is not None
                self.harmonic = HarmonicKind.ARTIFICIAL if is_artificial else HarmonicKind.NATURAL
            case "pluck":
                text = sign.text.strip().lower()
                if text in set(PickingFinger):
                    self.picking_finger = PickingFinger(text)
            case "other-technical":
                self._words(" ".join(sign.text.split()))
            case _:
                pass

    def _words(self, text: str) -> None:
        named = next((name for name, word in WORDS.items() if word == text.lower()), None)
        if named is not None:
            self.fields[named] = True
        elif text.lower() in {"p.m.", "pm"}:
            self.fields["palm_mute"] = True
        elif text == PINCHED and self.harmonic is not None:
            self.harmonic = HarmonicKind.PINCH
        elif not any(self._matched(pattern, text, take) for pattern, take in _TAKEN.items()):
            self.unheld.append("other signs")

    def _matched(
        self, pattern: re.Pattern[str], text: str, take: "Callable[[AskedReader, re.Match[str]], None]"
    ) -> bool:
        match = pattern.fullmatch(text)
        if match is not None:
            take(self, match)
        return match is not None

    def take_trill(self, match: re.Match[str]) -> None:
        """A trill whose fret and value are said."""
        self.trill_fret, self.trill = int(match[1]), _value(match.group(2, 3, 4, 5))

    def take_tremolo(self, match: re.Match[str]) -> None:
        """A tremolo whose value is said."""
        self.fields["tremolo"] = _value(match.group(1, 2, 3, 4))

    def take_vibrato(self, match: re.Match[str]) -> None:
        """A vibrato whose rate and width are said."""
        try:
            self.fields["vibrato"] = Vibrato(float(match[1]), float(match[2]))
        except (ValueError, ScoreError):
            self.unheld.append("vibrato that nobody plays")

    def take_touched(self, match: re.Match[str]) -> None:
        """The fret over which a stopped string is touched."""
        self.touched = int(match[1])

    def take_rake(self, match: re.Match[str]) -> None:
        """A rake."""
        self.fields["rake"] = Stroke(match[1])


_TAKEN: Final[Mapping[re.Pattern[str], Callable[[AskedReader, re.Match[str]], None]]] = {
    _TRILL: AskedReader.take_trill,
    _TREMOLO: AskedReader.take_tremolo,
    _VIBRATO: AskedReader.take_vibrato,
    _TOUCHED: AskedReader.take_touched,
    _RAKE: AskedReader.take_rake,
}


def _value(parts: tuple[str | Any, ...]) -> Value:
    name, dots, actual, normal = parts
    tuplet = Tuplet(int(actual), int(normal)) if actual and normal and int(actual) and int(normal) else None
    return Value(BASES[TYPES.index(name)], len(dots), tuplet)


def read_bend(bends: list[Node]) -> Bend | None:
    """The curve of a note's bends; None where it makes no sense."""
    changes = [_fraction(bend.words("bend-alter")) for bend in bends]
    if any(change is None or abs(change) > _MOST_SEMITONES for change in changes):
        return None
    heights = [change for change in changes if change is not None]
    is_pulled_before = bends[0].find("pre-bend") is not None
    try:
        if all(bend.get("first-beat") and bend.get("last-beat") for bend in bends):
            return _by_times(bends, heights, is_pulled_before=is_pulled_before)
        return _usual(heights, is_pulled_before=is_pulled_before)
    except ScoreError:
        return None


def _by_times(bends: list[Node], changes: list[Fraction], *, is_pulled_before: bool) -> Bend | None:
    points: list[BendPoint] = []
    for nth, (bend, change) in enumerate(zip(bends, changes, strict=True)):
        first, last = _share(bend.get("first-beat")), _share(bend.get("last-beat"))
        if first is None or last is None:
            return None
        if nth == 0 and is_pulled_before:
            points.append(BendPoint(first, change))
            continue
        before = points[-1].semitones if points else Fraction(0)
        if not points or points[-1].at < first:
            points.append(BendPoint(first, before))
        points.append(BendPoint(last, before + change))
    return Bend(tuple(points))


def _usual(changes: list[Fraction], *, is_pulled_before: bool) -> Bend | None:
    """The usual curve of a file that gives no times: up, or up and down."""
    far = changes[0]
    if len(changes) == 1:
        return pre_bend(far) if is_pulled_before else bend_up(far)
    back = len(changes) == 2 and changes[1] == -far
    if not back:
        return None
    return pre_bend_and_release(far) if is_pulled_before else bend_and_release(far)


def _fraction(text: str) -> Fraction | None:
    return Fraction(text) if re.fullmatch(r"-?[0-9]{1,3}(?:\.[0-9]{1,6})?", text) else None


def _share(percent: str) -> Fraction | None:
    number = _fraction(percent)
    if number is None or not 0 <= number <= 100:
        return None
    return (number / 100).limit_denominator(_FINEST)
