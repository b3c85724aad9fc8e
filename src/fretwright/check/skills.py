"""Skills: what a score asks of the hands and the reader, derived from its notes.

A teacher names skills in `teaches`, `needs` and `students know`; the names below are the whole
vocabulary that can be derived. Other words may be taught too (posture, tuning by ear); they are simply
not something a score can show.
"""

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import pairwise
from typing import Final

from fretwright.check.chordskills import CHORD_SKILLS, chord_skill, chord_skills
from fretwright.check.techniqueskills import TECHNIQUE_SKILLS, technique_skill, technique_skills
from fretwright.fingering.finger import Fingered
from fretwright.score.held import voicings_of
from fretwright.score.note import Attack, Note
from fretwright.score.score import Score
from fretwright.score.swing import STRAIGHT
from fretwright.score.values import TRIPLET, Value
from fretwright.theory.scale import SCALE_KINDS

_VALUE_NAMES: Final = {
    Fraction(1, 1): "whole notes",
    Fraction(1, 2): "half notes",
    Fraction(1, 4): "quarter notes",
    Fraction(1, 8): "eighth notes",
    Fraction(1, 16): "sixteenth notes",
    Fraction(1, 32): "thirty-second notes",
    Fraction(1, 64): "sixty-fourth notes",
}
_ATTACK_NAMES: Final = {
    Attack.HAMMER_ON: "hammer-on",
    Attack.PULL_OFF: "pull-off",
    Attack.SLIDE: "slide",
    Attack.TAP: "tap",
}
_OTHER_NAMES: Final = (
    "dotted notes", "triplets", "tuplets", "ties", "rests", "syncopation", "pickup bar", "swing", "repeats",
    "string crossing", "string skip", "position shift", "open strings", "two notes at once",
)  # fmt: skip

VOCABULARY: Final = frozenset(
    (
        *_VALUE_NAMES.values(),
        *_ATTACK_NAMES.values(),
        *_OTHER_NAMES,
        *CHORD_SKILLS,
        *TECHNIQUE_SKILLS,
        *(f"{kind} scale" for kind in SCALE_KINDS),
    )
)
"""Every skill that can be derived from a score."""


def skill_named(words: str) -> str:
    """The skill that a teacher's words name, in the vocabulary's own spelling where it has it.

    Case, spaces and a missing or needless ``s``, ``notes`` or ``scale`` don't matter: ``Hammer-ons``,
    ``eighths`` and ``minor pentatonic`` name skills too.
    """
    named = chord_skill(words) or technique_skill(words)
    if named is not None:
        return named
    plain = " ".join(words.lower().split())
    single = plain.removesuffix("s")
    spellings = (plain, single, f"{plain}s", f"{plain} scale", f"{single} notes", f"{plain} notes")
    return next((spelling for spelling in spellings if spelling in VOCABULARY), plain)


def skills_of(fingered: Fingered) -> frozenset[str]:
    """The skills that playing this score takes."""
    score = fingered.score
    return frozenset(skill for derive in _DERIVATIONS for skill in derive(score)) | _shifts(fingered)


def _values(score: Score) -> Iterator[str]:
    heads: list[Value] = [value for note in score.notes for value in note.values]
    for value in heads:
        if value.tuplet is None:
            yield _VALUE_NAMES[value.base]
        else:
            yield "triplets" if value.tuplet == TRIPLET else "tuplets"
        if value.dots:
            yield "dotted notes"
    if any(len(note.values) > 1 for note in score.notes):
        yield "ties"


def _rests(score: Score) -> Iterator[str]:
    # The rests that fill up the last bar ask nothing of a player who has finished.
    last = max((note.end for note in score.notes), default=Fraction(0))
    if any(rest.onset < last for rest in score.rests):
        yield "rests"


def _attacks(score: Score) -> Iterator[str]:
    for note in score.notes:
        if note.attack is not Attack.PLUCK:
            yield _ATTACK_NAMES[note.attack]


def _form(score: Score) -> Iterator[str]:
    if score.pickup:
        yield "pickup bar"
    if score.swing != STRAIGHT:
        yield "swing"
    if any(bar.closes_repeat for bar in score.bars):
        yield "repeats"
    if score.scale is not None:
        yield f"{score.scale.kind.name} scale"


def _strings(score: Score) -> Iterator[str]:
    if voicings_of(score):
        return  # what crosses strings there is part of strumming and picking
    for before, after in pairwise(score.notes):
        distance = abs(after.string - before.string)
        if before.onset == after.onset:
            yield "two notes at once"
        elif distance:
            yield "string crossing" if distance == 1 else "string skip"
    if any(note.fret == 0 and not note.techniques.dead for note in score.notes):
        yield "open strings"


def _syncopation(score: Score) -> Iterator[str]:
    # The last note may ring on over any beat: nothing follows that it could upset.
    last = max((note.onset for note in score.notes), default=Fraction(0))
    if any(is_syncopated(score, note) for note in score.notes if note.onset < last):
        yield "syncopation"


def is_syncopated(score: Score, note: Note) -> bool:
    """Whether a note starts off the beat and sounds on over a beat, or ties over the bar line.

    Tuplets and the plain long-short of a dotted note that starts on a beat are not syncopation.
    """
    bar = score.bar_at(note.onset)
    offset = note.onset - bar.start
    if note.values[0].tuplet is not None or offset % bar.meter.beat == 0:
        return False
    next_beat = (offset // bar.meter.beat + 1) * bar.meter.beat
    return offset + note.duration > next_beat


def _shifts(fingered: Fingered) -> frozenset[str]:
    """A position shift: the whole hand has to travel, other than by a slide, which is a skill of its own."""
    moved = not voicings_of(fingered.score) and any(
        fingered.costs[note.id].shift > 0
        and note.attack is not Attack.SLIDE
        and not note.techniques.shift_slide
        for note in fingered.score.notes[1:]
    )
    return frozenset({"position shift"}) if moved else frozenset()


_DERIVATIONS: Final[tuple[Callable[[Score], Iterator[str]], ...]] = (
    _values,
    _rests,
    _attacks,
    _form,
    _strings,
    _syncopation,
    chord_skills,
    technique_skills,
)
