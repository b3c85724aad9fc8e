"""What is said of a whole exercise: before the first note, and in one sentence under a picture."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final

from fretwright.engrave.walkthrough_words import (
    counted,
    listed,
    meter_words,
    number,
    ordinal,
    position_of,
    sentence,
    value_words,
    values_words,
)
from fretwright.fretboard.tuning import STANDARD
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.techniques import Techniques
from fretwright.score.values import Value, value_of

Step = tuple[Value, ...]

_TECHNIQUES = {
    Attack.HAMMER_ON: ("a hammer-on", "hammer-ons"),
    Attack.PULL_OFF: ("a pull-off", "pull-offs"),
    Attack.SLIDE: ("a slide", "slides"),
    Attack.TAP: ("a tapped note", "tapped notes"),
}
_ASKED: Final[Mapping[str, Callable[[Techniques], object]]] = {
    "bends": lambda asked: asked.bend,
    "vibrato": lambda asked: asked.vibrato,
    "harmonics": lambda asked: asked.harmonic,
    "trills": lambda asked: asked.trill,
    "tremolo": lambda asked: asked.tremolo,
    "small notes": lambda asked: asked.graces,
    "palm mute": lambda asked: asked.palm_mute,
    "dead notes": lambda asked: asked.dead,
}


def introduction(score: Score, steps: Sequence[Step], main: Step, strokes: str) -> Iterator[str]:
    """The sentences before the first note: instrument, place, time, strokes."""
    if score.neck.tuning.open_pitches != STANDARD.open_pitches:
        names = ", ".join(pitch.name.spoken for pitch in reversed(score.neck.tuning.open_pitches))
        yield sentence(f"tune the strings, from the lowest up, to {names}")
    if score.neck.capo:
        yield sentence(f"capo at fret {number(score.neck.capo)}; frets are counted from the capo")
    where = ", ".join(filter(None, (_scale_words(score), _position_words(score))))
    if where:
        yield sentence(where)
    yield sentence(", ".join(_time_words(score, steps, main)))
    if strokes:
        yield sentence(strokes)


def _time_words(score: Score, steps: Sequence[Step], main: Step) -> Iterator[str]:
    first = score.bars[0]
    yield meter_words(first.meter)
    yield f"at {score.tempo.bpm:g} beats a minute"
    if score.pickup:
        pickup = value_of(score.pickup)
        written = (pickup,) if pickup else first.meter.spell(first.meter.length - score.pickup, score.pickup)
        yield f"with a pickup that lasts {value_words(written)}"
    if main:
        exceptions = [index for index, step in enumerate(steps) if step != main]
        where = "unless another length is named"
        if not exceptions:
            where = "throughout"
        elif exceptions == [len(steps) - 1]:
            where = "up to the last note"
        yield f"{values_words(main)} {where}"
    swing = score.swing
    if swing.share * 2 != 1:
        ratio = swing.share / (1 - swing.share)
        unit = value_of(swing.unit)
        name = values_words((unit,)) if unit else "notes"
        yield f"{name} swung in pairs, long and short as {ratio.numerator} to {ratio.denominator}"


def summary(score: Score, steps: Sequence[Step], main: Step) -> str:
    """One sentence on the whole score, for a picture's description."""
    if not score.notes:
        return sentence("nothing to play")
    kinds = Counter(note.attack for note in score.notes)
    bars = [bar for bar in score.bars if bar.number > 0]
    names = [forms[kinds[kind] > 1] for kind, forms in _TECHNIQUES.items() if kinds[kind]]
    names += [words for words, shows in _ASKED.items() if any(shows(note.techniques) for note in score.notes)]
    even = all(step == main for step in steps) and len(main) == 1 and len(score.notes) > 1
    notes = f"{number(len(score.notes))} {values_words(main)}" if even else counted(len(score.notes), "note")
    parts = [
        f"{notes} in {counted(len(bars), 'bar')} of {meter_words(score.bars[-1].meter)}",
        _reach_words(score),
    ]
    if names:
        parts.append(f"with {listed(names)}")
    heading = ", ".join(filter(None, (_scale_words(score), _position_words(score))))
    return sentence(f"{heading}: {', '.join(parts)}" if heading else ", ".join(parts))


def _reach_words(score: Score) -> str:
    strings = sorted({note.string for note in score.notes}, reverse=True)
    frets = sorted({note.fret for note in score.notes if note.fret})
    where = f"{ordinal(strings[0])} string"
    if len(strings) > 1:
        where = f"{ordinal(strings[0])} to {ordinal(strings[-1])} string"
    if not frets:
        return f"{where}, open strings"
    reach = f"fret {number(frets[0])}"
    if len(frets) > 1:
        reach = f"frets {number(frets[0])} to {number(frets[-1])}"
    opens = (
        " and open strings"
        if any(note.fret == 0 and not note.techniques.dead for note in score.notes)
        else ""
    )
    return f"{where}, {reach}{opens}"


def _scale_words(score: Score) -> str:
    return f"{score.scale.tonic.spoken} {score.scale.kind.name}" if score.scale else ""


def _position_words(score: Score) -> str:
    reaches = (place for note in score.notes if (place := position_of(note)))
    position = score.position if score.position is not None else next(reaches, None)
    if position is None:
        return ""
    return f"in position {number(position)}" if position else "in open position"
