"""The words of the walk-through: numbers, strings, fingers, note values and moves, in spoken English.

Numbers up to twenty-four, the most frets a guitar usually has, are words, so that a speech program and a
caption say the same; larger ones stay figures.
"""

from collections.abc import Sequence
from typing import Final

from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Finger, Note
from fretwright.score.values import TRIPLET, Value

_NUMBER_ROW: Final = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
    "seventeen eighteen nineteen twenty twenty-one twenty-two twenty-three twenty-four"
)
_ORDINAL_ROW: Final = (
    "zeroth first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth "
    "fourteenth fifteenth sixteenth seventeenth eighteenth nineteenth twentieth twenty-first twenty-second "
    "twenty-third twenty-fourth"
)
_NUMBERS: Final = _NUMBER_ROW.split()
_ORDINALS: Final = _ORDINAL_ROW.split()
_TIMES: Final = {1: "once", 2: "twice"}


def number(count: int) -> str:
    """A whole number as it is said: ``seven``, and figures beyond twenty-four."""
    return _NUMBERS[count] if 0 <= count < len(_NUMBERS) else str(count)


def ordinal(count: int) -> str:
    """A place in a row as it is said: ``seventh``, and figures beyond the twenty-fourth."""
    return _ORDINALS[count] if 0 <= count < len(_ORDINALS) else f"{count}th"


def times(count: int) -> str:
    """How often: ``twice``, ``three times``."""
    return _TIMES.get(count, f"{number(count)} times")


def listed(words: Sequence[str]) -> str:
    """Words in a row: ``one``, ``one and two``, ``one, two and three``."""
    return " and ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def counted(count: int, one: str) -> str:
    """A number of things: ``one bar``, ``three bars``."""
    return f"{number(count)} {one}" if count == 1 else f"{number(count)} {one}s"


def sentence(text: str) -> str:
    """The words with a capital letter and a full stop."""
    return f"{text[:1].upper()}{text[1:]}."


def meter_words(meter: Meter) -> str:
    """A time signature as it is said: ``four four time``."""
    return f"{number(meter.count)} {number(meter.unit)} time"


def string_words(string: int) -> str:
    """A string by its number: ``sixth string``."""
    return f"{ordinal(string)} string"


def fret_words(fret: int) -> str:
    """A place on a string that has been named: ``fret seven`` or ``open``."""
    return f"fret {number(fret)}" if fret else "open"


def value_words(values: Sequence[Value]) -> str:
    """One note's length: ``an eighth note``, ``a half note tied to an eighth note``."""
    return " tied to ".join(_with_article(_value(value, "note")) for value in values)


def values_words(values: Sequence[Value]) -> str:
    """The length of several notes in a row: ``eighth notes``."""
    return " tied to ".join(_value(value, "notes") for value in values)


def rest_words(values: Sequence[Value]) -> str:
    """A silence: ``rest for a quarter note``."""
    return f"rest for {' plus '.join(_with_article(_value(value, 'note')) for value in values)}"


def _value(value: Value, noun: str) -> str:
    if value.tuplet is None or value.tuplet == TRIPLET:
        return f"{value.name} {noun}"
    ratio = f"{number(value.tuplet.actual)} in the time of {number(value.tuplet.normal)}"
    return f"{Value(value.base, value.dots).name} {noun} at {ratio}"


def _with_article(words: str) -> str:
    return f"an {words}" if words[0] in "aeiou" else f"a {words}"


def note_words(note: Note, slides_from: int | None) -> str:
    """What the hand does for one note on a string that has been named.

    ``slides_from`` is the fret that a slide leaves, where one leads here.
    """
    if note.techniques.dead:
        return f"dead note{f' over {fret_words(note.fret)}' if note.fret else ''}"
    if note.techniques.shift_slide:
        finger = f" with the {note.finger.spoken}" if note.finger and note.fret else ""
        return f"slide to {fret_words(note.fret)}{finger} and pluck it"
    if note.attack is Attack.PLUCK:
        finger = f", {note.finger.spoken}" if note.finger and note.fret else ""
        return fret_words(note.fret) + finger
    move = _MOVES[note.attack]
    if note.attack is Attack.SLIDE and slides_from is not None and slides_from != note.fret:
        move = f"slide {'up' if note.fret > slides_from else 'down'} to "
    target = fret_words(note.fret) if note.fret else "the open string"
    finger = f" with the {note.finger.spoken}" if note.finger and note.fret else ""
    return move + target + finger


_MOVES: Final = {
    Attack.HAMMER_ON: "hammer on to ",
    Attack.PULL_OFF: "pull off to ",
    Attack.SLIDE: "slide to ",
    Attack.TAP: "tap ",
}


def position_of(note: Note) -> int | None:
    """The fret at which the first finger would sit to play the note with its finger, if that is known."""
    if note.finger is None or not Finger.INDEX <= note.finger <= Finger.LITTLE or not note.fret:
        return None
    return max(1, note.fret - note.finger + 1)
