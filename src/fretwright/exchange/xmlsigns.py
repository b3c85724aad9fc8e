"""What stands around the notes in MusicXML: keys, meters, tuning, tempo, words, chord names, bar lines."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.exchange.chorddegrees import Degree
from fretwright.exchange.chordnames import ChordName, join_name
from fretwright.exchange.xmltree import Node
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.tuning import Tuning
from fretwright.score.meter import Meter
from fretwright.score.swing import STRAIGHT, Swing
from fretwright.score.tempo import FASTEST_BPM, SLOWEST_BPM, TempoMark
from fretwright.theory.key import MAX_ACCIDENTALS, Key
from fretwright.theory.pitch import LETTERS, NoteName, Pitch

_BEATS: Final = {"whole": 1, "half": 2, "quarter": 4, "eighth": 8, "16th": 16, "32nd": 32, "64th": 64}
_SWING_UNITS: Final = {"eighth": Fraction(1, 8), "16th": Fraction(1, 16)}
_MOST_TIMES: Final = 32
_MOST_ALTER: Final = 2
_MOST_OCTAVE: Final = 9


def read_pitch(node: Node, prefix: str = "") -> Pitch | None:
    """A pitch from step, alter and octave; ``None`` where it is none, or lies between two frets."""
    step, octave = node.words(f"{prefix}step"), node.number(f"{prefix}octave")
    alter = _alter(node, f"{prefix}alter")
    if step not in LETTERS or not step or octave is None or alter is None or not 0 <= octave <= _MOST_OCTAVE:
        return None
    return Pitch(NoteName(step, alter), octave)


def _alter(node: Node, path: str) -> int | None:
    try:
        alter = float(node.words(path) or "0")
    except ValueError:
        return None
    return int(alter) if alter.is_integer() and abs(alter) <= _MOST_ALTER else None


def read_key(node: Node) -> Key | None:
    """A key signature; ``None`` for one that is no circle-of-fifths signature."""
    fifths = node.number("fifths")
    if fifths is None or abs(fifths) > MAX_ACCIDENTALS:
        return None
    return Key(fifths, node.words("mode") in {"minor", "aeolian"})


def read_meter(node: Node) -> Meter | None:
    """A time signature; one of several parts (3+2/8) counts all of them. ``None`` for free time."""
    beats, units = [part.text for part in node.all("beats")], [part.text for part in node.all("beat-type")]
    try:
        count = sum(int(number) for text in beats for number in text.split("+"))
        unit = {int(text) for text in units}
        return Meter(count, unit.pop()) if len(unit) == 1 else None
    except (ValueError, ZeroDivisionError, FretwrightError):
        return None


def read_neck(details: Node, neck: Neck) -> Neck | None:
    """The neck with the tuning and capo of a staff; ``None`` where there is none to be read."""
    lines: dict[int, Pitch] = {}
    for tuned in details.all("staff-tuning"):
        pitch = read_pitch(tuned, "tuning-")
        line = tuned.get("line")
        if pitch is None or not line.isdecimal():
            return None
        lines[int(line)] = pitch
    capo = details.number("capo") or 0
    try:
        # Line 1 is the bottom one, string 1 the top one.
        tuning = (
            Tuning.of_pitches(lines[line] for line in sorted(lines, reverse=True)) if lines else neck.tuning
        )
        return Neck(tuning, neck.scale_length_mm, neck.frets, capo)
    except FretwrightError:
        return None


def read_tempo(node: Node, at: Fraction, beat: Fraction) -> TempoMark | None:
    """A tempo from a direction or a sound; ``beat`` is what a tempo without a sign of its own counts."""
    metronome = node.find("direction-type/metronome")
    try:
        if metronome is not None and metronome.words("beat-unit") in _BEATS:
            unit = Fraction(1, _BEATS[metronome.words("beat-unit")])
            dots = sum(1 for _ in metronome.all("beat-unit-dot"))
            bpm = float(re.sub(r"[^0-9.]", "", metronome.words("per-minute")))
            return _mark(at, bpm, unit * (2 - Fraction(1, 2 ** min(dots, 2))))
        sound = node if node.tag == "sound" else node.find("sound")
        if sound is not None and sound.get("tempo"):
            # The standard gives quarters a minute.
            return _mark(at, float(sound.get("tempo")) * float(Fraction(1, 4) / beat), beat)
    except ValueError:
        return None
    return None


def _mark(at: Fraction, bpm: float, beat: Fraction) -> TempoMark | None:
    return TempoMark(at, bpm, beat) if SLOWEST_BPM <= bpm <= FASTEST_BPM else None


def read_swing(sound: Node) -> Swing | None:
    """How eighths or sixteenths are swung; ``None`` where nothing is said."""
    swing = sound.find("swing")
    if swing is None:
        return None
    first, second = swing.number("first"), swing.number("second")
    if not first or not second or not 0 < second <= first <= _MOST_TIMES:
        return STRAIGHT
    return Swing(Fraction(first, first + second), _SWING_UNITS.get(swing.words("swing-type"), Fraction(1, 8)))


def read_chord_name(harmony: Node) -> str | None:
    """The printed name of a chord; ``None`` for one given by degree or function."""
    root, kind = harmony.find("root"), harmony.find("kind")
    if root is None or kind is None:
        return None
    if kind.text.strip() == "none":
        return kind.get("text") or "N.C."
    name, bass = _name(root, "root-"), None
    if name is None:
        return None
    bass_node = harmony.find("bass")
    if bass_node is not None:
        bass = _name(bass_node, "bass-")
    if kind.get("text"):
        return join_name(ChordName(name, kind.text.strip(), kind.get("text"), bass))
    changes = "".join(degree.text for degree in _degrees(harmony))
    ending = join_name(ChordName(None, kind.text.strip(), "")) + changes
    return join_name(ChordName(name, kind.text.strip(), ending, bass))


def _degrees(harmony: Node) -> Iterator[Degree]:
    for node in harmony.all("degree"):
        value, alter = node.number("degree-value"), _alter(node, "degree-alter")
        if value is not None and alter is not None:
            yield Degree(value, alter, node.words("degree-type"))


def _name(node: Node, prefix: str) -> NoteName | None:
    step, alter = node.words(f"{prefix}step"), _alter(node, f"{prefix}alter")
    return NoteName(step, alter) if step and step in LETTERS and alter is not None else None


@dataclass(frozen=True, slots=True)
class BarLines:
    """What the bar lines of one measure say."""

    opens_repeat: bool = False
    closes_repeat: int = 0
    opened: tuple[int, ...] | None = None
    """Times through that an ending bracket opening here names."""
    closes_ending: bool = False


def read_bar_lines(measure: Node) -> BarLines:
    """Repeats and endings of a measure."""
    opens, closes, opened, closes_ending = False, 0, None, False
    for line in measure.all("barline"):
        repeat, ending = line.find("repeat"), line.find("ending")
        if repeat is not None and repeat.get("direction") == "forward":
            opens = True
        elif repeat is not None:
            times = repeat.get("times", "2")
            closes = min(int(times), _MOST_TIMES) if times.isdecimal() and int(times) > 1 else 2
        if ending is not None and ending.get("type") == "start":
            opened = tuple(_numbers(ending.get("number")))
        elif ending is not None:
            closes_ending = True
    return BarLines(opens, closes, opened, closes_ending)


def _numbers(text: str) -> Iterator[int]:
    """Times through: ``1, 2`` or ``1-3``."""
    for match in re.finditer(r"(\d{1,2})(?:\s*-\s*(\d{1,2}))?", text):
        yield from range(int(match[1]), min(int(match[2] or match[1]), _MOST_TIMES) + 1)
