"""Names against notes: does an exercise sound as what it is called?"""

import re
from collections.abc import Iterator
from typing import Final

from fretwright.base.findings import Finding, Severity
from fretwright.check.case import Case, enumeration, where
from fretwright.score.held import voicings_of
from fretwright.score.note import Note
from fretwright.theory.interval import Interval
from fretwright.theory.key import Key
from fretwright.theory.scale import SCALE_KINDS, Scale, ScaleKind

_TELLING_DEGREES: Final = {
    "blues": ("b5",),
    "major blues": ("b3",),
    "harmonic minor": ("7",),
    "melodic minor": ("6", "7"),
    "dorian": ("6",),
    "phrygian": ("b2",),
    "lydian": ("#4",),
    "mixolydian": ("b7",),
    "locrian": ("b5",),
}
"""The degrees by which an ear tells a kind from plainer ones (common practice, no source). Kinds that
are not listed are plain themselves: a tune in G major need not use all seven notes."""

_DEGREE_WORDS: Final = {"b": "flat ", "#": "sharp "}
_NUMBER_WORDS: Final = ("", "tonic", "second", "third", "fourth", "fifth", "sixth", "seventh")


def missing_telling_note(case: Case) -> Iterator[Finding]:
    """An exercise called blues whose flat fifth never sounds, and the like for other kinds."""
    score = case.score
    if voicings_of(score):
        return  # a blues may well be strummed without its blue notes
    heard = {note.midi % 12 for note in score.notes}
    for kind, field in _claimed_kinds(case):
        tonic = score.scale.tonic if score.scale else score.key.tonic
        scale = Scale(tonic, kind)
        for degree in map(Interval.of_degree, _TELLING_DEGREES.get(kind.name, ())):
            name = tonic.transposed(degree)
            if name.pitch_class in heard:
                continue
            plainer = _plainer_name(scale, heard)
            yield case.finding(
                "telling-note-missing",
                Severity.WARNING,
                case.span_of(field),
                f"{case.exercise.title!r} is called {kind.name}, but its {_spoken(degree)}, {name},"
                f" never sounds{f'; what sounds is {plainer}' if plainer else ''}.",
                f"Let {name} sound, or call it by the scale that does.",
            )


def _claimed_kinds(case: Case) -> Iterator[tuple[ScaleKind, str]]:
    """Each kind that the scale key or the title names, with the key to point at."""
    named = case.score.scale.kind if case.score.scale else None
    if named is not None:
        yield named, "scale"
    title = case.exercise.title.lower()
    for name in sorted(_TELLING_DEGREES, key=len, reverse=True):
        if re.search(rf"\b{name}\b", title):
            if named is None or named.name != name:
                yield SCALE_KINDS[name], "title"
            return


def _plainer_name(scale: Scale, heard: set[int]) -> str | None:
    """A plain scale on the same tonic that has all that is heard."""
    for name in ("minor pentatonic", "major pentatonic", "natural minor", "major"):
        plain = Scale(scale.tonic, SCALE_KINDS[name])
        if name != scale.kind.name and all(plain.contains(pitch_class) for pitch_class in heard):
            return plain.name
    return None


def _spoken(degree: Interval) -> str:
    text = degree.degree
    sign, number = text.rstrip("0123456789"), int(text.lstrip("b#"))
    return "".join(_DEGREE_WORDS[char] for char in sign) + _NUMBER_WORDS[number]


def notes_outside_scale(case: Case) -> Iterator[Finding]:
    """Notes that stray from the scale the exercise names."""
    scale = case.score.scale
    if scale is None or voicings_of(case.score):
        return
    strays = [note for note in case.score.notes if not scale.contains(note.midi)]
    if strays:
        yield case.finding(
            "note-outside-scale",
            Severity.WARNING,
            case.span_at(strays[0], "scale"),
            f"{_strays(strays)} not in {scale.name} ({' '.join(map(str, scale.notes))}).",
            "Change the fret, or name the scale that holds the note; leave `scale` out if the note is meant.",
        )


def _strays(notes: list[Note]) -> str:
    distinct = list({note.place: note for note in notes}.values())
    words = [f"{note.pitch.name} on {where(note)}" for note in distinct]
    return f"{enumeration(words)} {'is' if len(distinct) == 1 else 'are'}"


def wrong_key(case: Case) -> Iterator[Finding]:
    """A key the teacher wrote that the notes do not fit, where another key with their tonic does."""
    if "key" not in case.exercise.fields or not case.score.notes:
        return
    key = case.score.key
    outside = [note for note in case.score.notes if not _in_key(key, note)]
    if not outside:
        return
    ends = {case.score.notes[0].midi % 12, case.score.notes[-1].midi % 12}
    better = [
        other
        for fifths in range(-6, 7)
        for other in (Key(fifths, minor=False), Key(fifths, minor=True))
        if other.tonic.pitch_class in ends and all(_in_key(other, note) for note in case.score.notes)
    ]
    if better:
        best = min(better, key=lambda other: (abs(other.fifths), other.minor != key.minor))
        yield case.finding(
            "wrong-key",
            Severity.WARNING,
            case.span_of("key"),
            f"The key says {key.name}, but {_strays(outside)} not in it; all notes fit {best.name}.",
            f"Write `key: {best.name}`, or check the frets.",
        )


def _in_key(key: Key, note: Note) -> bool:
    """Whether a note belongs to the key; a minor key also owns its raised sixth and seventh."""
    above_tonic = (note.midi - key.tonic.pitch_class) % 12
    return key.scale.contains(note.midi) or (key.minor and above_tonic in (9, 11))
