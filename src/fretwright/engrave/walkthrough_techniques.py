"""How a note is played beyond its place and its attack, in a teacher's words.

What all notes of an exercise have in common is said once, before the first of them (:func:`said_once`), and
taken off the notes; the rest is said note by note.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any, Final

from fretwright.engrave.walkthrough_words import (
    fret_words,
    listed,
    number,
    ordinal,
    string_words,
    values_words,
)
from fretwright.score.note import Attack, Note
from fretwright.score.score import Score
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    WIDE_VIBRATO,
    Bend,
    HarmonicKind,
    PickingFinger,
    Roll,
    SlideEnd,
    Techniques,
    Vibrato,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)

_FLAGS: Final = {
    "palm_mute": "palm-muted", "let_ring": "left to ring", "staccato": "cut short", "accent": "accented",
    "ghost": "softly", "swell": "swelling from nothing",
}  # fmt: skip
_ONCE: Final = {
    "palm_mute": "the heel of the picking hand mutes all notes",
    "let_ring": "all notes are left to ring",
    "staccato": "all notes are cut short",
    "accent": "all notes are accented",
    "ghost": "all notes are soft",
    "swell": "all notes swell from nothing",
}
_HARMONICS: Final = {
    HarmonicKind.NATURAL: "natural harmonic",
    HarmonicKind.ARTIFICIAL: "artificial harmonic, touched by the picking hand over",
    HarmonicKind.PINCH: "pinch harmonic, touched by the thumb over",
}
_USUAL_FINGERS: Final = {3: PickingFinger.INDEX, 2: PickingFinger.MIDDLE, 1: PickingFinger.RING}
_PARTS: Final = {2: "half", 3: "third", 4: "quarter"}


def said_once(score: Score) -> tuple[Score, tuple[str, ...]]:
    """The score without what all its notes have in common, and the words for that."""
    words = []
    notes = score.notes
    several = len(notes) > 1
    for field, what in _ONCE.items():
        if several and all(getattr(note.techniques, field) for note in notes):
            words.append(what)
            off: dict[str, Any] = {field: False}
            notes = tuple(replace(note, techniques=replace(note.techniques, **off)) for note in notes)
    values = {note.techniques.tremolo for note in notes}
    value = next(iter(values)) if len(values) == 1 else None
    if several and value is not None:
        words.append(f"every note is plucked again and again in {values_words((value,))}")
        notes = tuple(replace(note, techniques=replace(note.techniques, tremolo=None)) for note in notes)
    if several and _has_usual_fingers(notes):
        words.append(
            "the thumb plucks the fourth string and those below it, index, middle and ring finger the third, "
            "second and first string"
        )
        notes = tuple(replace(note, picking_finger=None) for note in notes)
    divide = _divide(notes)
    if divide is not None:
        words.append(f"two voices: the lower one is played from the {ordinal(divide)} string down")
        notes = tuple(replace(note, voice=1) for note in notes)
    return score.with_notes(notes), tuple(words)


def _has_usual_fingers(notes: tuple[Note, ...]) -> bool:
    picked = [note for note in notes if note.attack is Attack.PLUCK]
    return bool(picked) and all(
        note.picking_finger is _USUAL_FINGERS.get(note.string, PickingFinger.THUMB)
        if note.attack is Attack.PLUCK
        else note.picking_finger is None
        for note in notes
    )


def _divide(notes: tuple[Note, ...]) -> int | None:
    """The highest string of the lower voice, where the voices keep to strings of their own."""
    upper = [note.string for note in notes if note.voice == 1]
    lower = [note.string for note in notes if note.voice > 1]
    return min(lower) if lower and upper and max(upper) < min(lower) else None


def technique_words(note: Note) -> str:
    """All that is asked of a note, to stand behind its place and finger; empty for a plain note."""
    words = list(_asked(note.techniques))
    if note.picking_finger is not None:
        words.append(f"plucked by the {_picker(note.picking_finger)}")
    if note.voice > 1:
        words.append("in the lower voice")
    return "".join(f", {word}" for word in words)


def _picker(finger: PickingFinger) -> str:
    return finger.spoken if finger is PickingFinger.THUMB else f"{finger.spoken} finger"


def _asked(techniques: Techniques) -> Iterator[str]:
    if techniques.harmonic is not None:
        touched = fret_words(techniques.harmonic.touched)
        is_natural = techniques.harmonic.kind is HarmonicKind.NATURAL
        kind = _HARMONICS[techniques.harmonic.kind]
        yield f"touched lightly for a {kind}" if is_natural else f"{_article(kind)} {kind} {touched}"
    if techniques.bend is not None:
        yield bend_words(techniques.bend)
    if techniques.trill is not None:
        yield f"trilled with {fret_words(techniques.trill.fret)} in {values_words((techniques.trill.value,))}"
    if techniques.vibrato is not None:
        yield _vibrato_words(techniques.vibrato)
    if techniques.tremolo is not None:
        yield f"plucked again and again in {values_words((techniques.tremolo,))}"
    if techniques.slide_out is not None:
        yield f"then slid away {'upwards' if techniques.slide_out is SlideEnd.ABOVE else 'downwards'}"
    yield from (words for field, words in _FLAGS.items() if getattr(techniques, field))


def together_words(notes: Sequence[Note]) -> str:
    """How several notes start at one time, to stand before them: ``together``, or rolled."""
    ways = {note.techniques.roll for note in notes}
    if len(ways) > 1:
        return "together"
    return {None: "together", Roll.UP: "rolled upwards,", Roll.DOWN: "rolled downwards,"}[ways.pop()]


def roll_words(note: Note, notes: Sequence[Note]) -> str:
    """What is said of a note that is rolled where others that start with it are not; empty else."""
    if note.techniques.roll is None or together_words(notes) != "together":
        return ""
    return f", rolled {note.techniques.roll.value}wards"


def lead_words(note: Note) -> str:
    """What comes before a note: small notes, a rake, a slide from nowhere; empty where nothing does."""
    techniques = note.techniques
    words = []
    if techniques.rake is not None:
        words.append(
            f"rake the muted strings with {_article(techniques.rake)} {techniques.rake.value} stroke"
        )
    if techniques.graces:
        words.append(_grace_words(note))
    if techniques.slide_in is not None:
        words.append(f"slide in from {techniques.slide_in.value}")
    return "".join(f"{word}, " for word in words)


def _grace_words(note: Note) -> str:
    """``from a small note at fret five``; how each is left where it is not slurred on."""
    graces = note.techniques.graces
    said = []
    for index, grace in enumerate(graces):
        elsewhere = f"the {string_words(grace.place.string)}, " if grace.place.string != note.string else ""
        finger = f", {grace.finger.spoken}" if grace.finger and grace.place.fret else ""
        place = f"{elsewhere}{fret_words(grace.place.fret)}{finger}"
        is_last = index == len(graces) - 1
        joined = f"{',' * bool(finger)} slurred on" if grace.is_slurred_on and not is_last else ""
        plucked = "" if grace.is_slurred_on else ", and pluck again"
        said.append(f"{place}{joined}{plucked}")
    what = "a small note" if len(graces) == 1 else f"{number(len(graces))} small notes"
    return f"from {what} at {listed(said)}"


def bend_words(bend: Bend) -> str:
    """A bend as a teacher says it: how far, whether it is let down, and when where that is not as usual."""
    for make, words in _USUAL_BENDS:
        if bend == make(bend.peak):
            return words.format(far=_far(bend.peak))
    start, *corners = bend.points
    held = f"bent up {_far(start.semitones)} before it sounds" if start.semitones else "bent"
    first = "" if start.at == 0 else f" until {_part(start.at)}"
    moves = [f"{_to(point.semitones)} by {_part(point.at)}" for point in corners]
    return f"{held}{first}, then {', then '.join(moves)}" if moves else f"{held}{first}"


_USUAL_BENDS: Final = (
    (bend_up, "bent up {far}"),
    (bend_and_release, "bent up {far} and let down again"),
    (pre_bend, "bent up {far} before it sounds"),
    (pre_bend_and_release, "bent up {far} before it sounds, then let down"),
)


def _far(semitones: Fraction) -> str:
    named = {Fraction(1, 2): "a quarter tone", Fraction(1): "a half tone", Fraction(2): "a whole tone"}
    if semitones in named:
        return named[semitones]
    tones = semitones / 2
    if tones.denominator == 1:
        return f"{number(int(tones))} whole tones"
    return f"{float(tones):g} whole tones"


def _to(semitones: Fraction) -> str:
    return f"to {_far(semitones)}" if semitones else "to no bend"


def _part(share: Fraction) -> str:
    """``half of the note``, ``three quarters of the note``, ``the end``."""
    if share == 1:
        return "its end"
    if share == 0:
        return "its start"
    name = _PARTS.get(share.denominator) or ordinal(share.denominator)
    count = share.numerator
    if name == "half":
        return "half of the note"
    return f"{number(count)} {name}{'s' * (count > 1)} of the note"


def _vibrato_words(vibrato: Vibrato) -> str:
    if vibrato == USUAL_VIBRATO:
        return "with vibrato"
    if vibrato == WIDE_VIBRATO:
        return "with wide vibrato"
    width = "wide vibrato" if vibrato.is_wide else "vibrato"
    return f"with {width} of {vibrato.rate_hz:g} swings a second and {vibrato.width_cents:g} cents"


def _article(word: str) -> str:
    return "an" if word[0] in "aeiou" else "a"
