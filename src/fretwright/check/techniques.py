"""Techniques that cannot be played, and those that strain a hand or contradict each other.

What is too far for the fretting hand is found by the fingering; here stands what no finger changes. The
limits of bends are common practice, no source: plain strings are pulled by two whole tones at most, wound
ones by one, and near the nut a string gives way least.
"""

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Final

from fretwright.base.findings import Finding, Severity
from fretwright.check.case import Case, where
from fretwright.check.hands import FINGER_MOVES_PER_SECOND, STROKES_PER_SECOND
from fretwright.score.note import Attack, Note
from fretwright.score.techniques import HarmonicKind, Stroke, Techniques

_WIDEST_BEND: Final = 4
"""Semitones on a plain string."""
_WIDEST_WOUND_BEND: Final = 2
_FIRST_WOUND_STRING: Final = 4
"""On a guitar in its usual stringing; lower strings are wound as well."""
_NEAR_THE_NUT: Final = 2
_WHOLE_TONE: Final = 2

_Said = tuple[str, Severity, str, str]
"""Code, severity, message and mend."""


def unplayable_techniques(case: Case) -> Iterator[Finding]:
    """What one note asks for and no hand can do, or hardly."""
    for note in case.score.notes:
        if note.techniques.is_plain and note.attack is not Attack.TAP:
            continue
        said = [found for rule in _OF_A_NOTE for found in rule(note)]
        said += [found for rule in _IN_A_SCORE for found in rule(case, note)]
        for code, severity, message, mend in said:
            yield case.finding(code, severity, case.span_at(note, "tab", "path"), message, mend)


def cut_off_voices(case: Case) -> Iterator[Finding]:
    """Notes that the other voice cuts off, since a string sounds one note at a time."""
    sounding: dict[int, Note] = {}
    for note in case.score.notes:
        before = sounding.get(note.string)
        if before is not None and before.voice != note.voice and before.onset < note.onset < before.end:
            yield case.finding(
                "voice-cut-off",
                Severity.WARNING,
                case.span_at(note, "tab"),
                f"{where(note).capitalize()} cuts off fret {before.fret}, which the other voice holds there.",
                "Shorten the note that is held, or play one of the two on another string.",
            )
        sounding[note.string] = note


def _on_open_string(note: Note) -> Iterator[_Said]:
    techniques = note.techniques
    if note.fret or techniques.dead:
        return
    if techniques.bend is not None:
        yield (
            "bend-on-open-string",
            Severity.ERROR,
            f"An open string cannot be bent (string {note.string}).",
            "Bend the same pitch on a lower string, where a finger stops it.",
        )
    if techniques.vibrato is not None:
        yield (
            "vibrato-on-open-string",
            Severity.ERROR,
            f"No finger is on string {note.string} that could shake it.",
            "Play the same pitch on a lower string, or leave the vibrato out.",
        )
    if techniques.slide_in or techniques.slide_out or techniques.shift_slide:
        yield (
            "slide-on-open-string",
            Severity.ERROR,
            f"A finger cannot slide to or from an open string (string {note.string}).",
            "Slide between two fretted notes, or pluck the open string.",
        )
    if note.attack is Attack.TAP:
        yield (
            "tap-on-open-string",
            Severity.ERROR,
            f"A tap needs a fret, and string {note.string} is open here.",
            "Write the fret that is tapped, such as t12, or pluck the open string.",
        )


def _shift_from_open(case: Case, note: Note) -> Iterator[_Said]:
    before = _before(case, note)
    if note.techniques.shift_slide and note.fret and before is not None and before.fret == 0:
        yield (
            "slide-on-open-string",
            Severity.ERROR,
            f"A finger cannot slide to or from an open string (string {note.string}).",
            "Slide between two fretted notes, or pluck the open string.",
        )


def _bends(case: Case, note: Note) -> Iterator[_Said]:
    bend = note.techniques.bend
    if bend is None or not note.fret:
        return
    wound = note.string >= _FIRST_WOUND_STRING
    widest = _WIDEST_WOUND_BEND if wound else _WIDEST_BEND
    here, most = where(note).capitalize(), _tones(Fraction(widest))
    if bend.peak > widest:
        yield (
            "bend-too-wide",
            Severity.WARNING,
            f"{here} is bent by {_tones(bend.peak)}, and such a string gives way by {most} at most.",
            "Bend less far, or from a higher fret on a thinner string. Wide bends strain finger and wrist.",
        )
    elif bend.peak >= _WHOLE_TONE and note.fret + case.score.neck.capo <= _NEAR_THE_NUT:
        yield (
            "bend-near-the-nut",
            Severity.ADVICE,
            f"{here} is bent by {_tones(bend.peak)} close to the nut, where it takes most strength.",
            "Play it further up the neck on a lower string.",
        )


def _target_in_scale(case: Case, note: Note) -> Iterator[_Said]:
    bend, scale = note.techniques.bend, case.score.scale
    if bend is None or scale is None or bend.peak.denominator != 1:
        return  # a bend by a quarter tone means a pitch between those of the scale
    target = note.midi + int(bend.peak)
    name = case.score.key.spell(target).name
    if not scale.contains(target):
        yield (
            "bend-out-of-scale",
            Severity.ADVICE,
            f"{where(note).capitalize()} is bent to {name}, which {scale.name} does not have.",
            "Bend to a note of the scale, or leave it if the note is meant.",
        )


def _harmonics(note: Note) -> Iterator[_Said]:
    techniques = note.techniques
    harmonic = techniques.harmonic
    if harmonic is None:
        return
    is_natural = harmonic.kind is HarmonicKind.NATURAL
    more = [name for name, asked in _pressed_work(techniques) if asked] if is_natural else []
    if more:
        yield (
            "harmonic-and-more",
            Severity.ERROR,
            f"A natural harmonic is only touched, so that it cannot have {more[0]} ({where(note)}).",
            "Leave one of the two out, or write a harmonic of a stopped string.",
        )
    if note.attack is not Attack.PLUCK:
        yield (
            "harmonic-not-plucked",
            Severity.ERROR,
            f"A harmonic sounds when its string is plucked, and {where(note)} is a {note.attack.value}.",
            "Pluck it, or leave the harmonic out.",
        )


def _pressed_work(techniques: Techniques) -> tuple[tuple[str, bool], ...]:
    """What only a finger that presses can do."""
    return (
        ("a bend", techniques.bend is not None),
        ("vibrato", techniques.vibrato is not None),
        ("a trill", techniques.trill is not None),
        ("a slide", bool(techniques.slide_in or techniques.slide_out or techniques.shift_slide)),
    )


def _both_hands(case: Case, note: Note) -> Iterator[_Said]:
    """The picking hand cannot be in two places."""
    techniques = note.techniques
    if note.attack is not Attack.TAP:
        return
    if techniques.palm_mute:
        yield (
            "palm-mute-under-tap",
            Severity.WARNING,
            f"The hand that taps {where(note)} cannot mute the strings at the bridge.",
            "Leave the palm mute out for tapped notes.",
        )
    before = _before(case, note)
    if before is not None and note.fret and before.attack is not Attack.TAP and note.fret < before.fret:
        yield (
            "tap-below-the-hand",
            Severity.WARNING,
            f"The tap on {where(note)} is below the finger on fret {before.fret}, which shuts it off.",
            "Tap above the fretting hand.",
        )


def _contradictions(note: Note) -> Iterator[_Said]:
    techniques = note.techniques
    if techniques.let_ring and (techniques.staccato or techniques.palm_mute):
        other = "cut short" if techniques.staccato else "muted"
        yield (
            "ring-and-stop",
            Severity.WARNING,
            f"{where(note).capitalize()} is to ring on and to be {other} at once.",
            "Keep one of the two.",
        )
    if techniques.swell and techniques.accent:
        yield (
            "swell-and-accent",
            Severity.WARNING,
            f"{where(note).capitalize()} is to swell from nothing and to have an accent.",
            "Keep one of the two.",
        )


def _rakes(case: Case, note: Note) -> Iterator[_Said]:
    rake = note.techniques.rake
    outermost = case.score.neck.tuning.string_count if rake is Stroke.DOWN else 1
    if rake is not None and note.string == outermost:
        yield (
            "rake-without-strings",
            Severity.WARNING,
            f"No string is left to rake before string {note.string} in a {rake.value}-stroke.",
            "Rake the other way, or leave it out.",
        )


def _rolls(case: Case, note: Note) -> Iterator[_Said]:
    roll = note.techniques.roll
    if roll is None:
        return
    same = [
        other for other in case.score.notes if other.onset == note.onset and other.techniques.roll is roll
    ]
    if len(same) == 1:
        yield (
            "roll-of-one-note",
            Severity.WARNING,
            f"{where(note).capitalize()} is to be rolled, and no other note is rolled with it.",
            "Roll a chord, or leave the roll out.",
        )
    elif note is same[0] and any(other.stroke not in (None, roll.stroke) for other in same):
        yield (
            "roll-against-stroke",
            Severity.WARNING,
            f"The chord on {where(note)} is rolled {roll.value}, and its stroke goes the other way.",
            f"Write the {roll.stroke.value}-stroke, or roll the other way.",
        )


def _too_fast(case: Case, note: Note) -> Iterator[_Said]:
    goal, trill = case.exercise.ladder.goal_bpm, note.techniques.trill
    asked = (
        ("tremolo", note.techniques.tremolo, STROKES_PER_SECOND, "strokes"),
        # a trill is a hammer-on and a pull-off in turn: two notes for one movement of the finger
        (
            "trill",
            trill.value if trill is not None else None,
            2 * FINGER_MOVES_PER_SECOND,
            "notes",
        ),
    )
    for name, value, limit, unit in asked:
        if value is None:
            continue
        tempo = case.score.tempo.at_start(goal)
        rate = 1 / tempo.seconds_between(note.onset, note.onset + value.duration)
        if rate > limit + 1e-9:
            message = (
                f"At the goal of {goal:g} the {name} of {where(note)} asks for {rate:.0f} {unit} a second"
            )
            yield (
                "tempo-beyond-hands",
                Severity.WARNING,
                f"{message}; hands stop at about {limit:g}.",
                "Lower the goal, or write slower notes for it.",
            )


def _before(case: Case, note: Note) -> Note | None:
    """The note on the same string that sounds until this one starts."""
    earlier = (other for other in case.score.notes if other.string == note.string and other.end == note.onset)
    return next(earlier, None)


def _tones(semitones: Fraction) -> str:
    """``a half tone``, ``a whole tone``, ``2 whole tones``, ``1.5 whole tones``."""
    named = {Fraction(1, 2): "a quarter tone", Fraction(1): "a half tone", Fraction(2): "a whole tone"}
    return named.get(semitones) or f"{float(semitones / 2):g} whole tones"


_OF_A_NOTE: Final[tuple[Callable[[Note], Iterator[_Said]], ...]] = (
    _on_open_string,
    _harmonics,
    _contradictions,
)
_IN_A_SCORE: Final[tuple[Callable[[Case, Note], Iterator[_Said]], ...]] = (
    _shift_from_open,
    _bends,
    _target_in_scale,
    _both_hands,
    _rakes,
    _rolls,
    _too_fast,
)
