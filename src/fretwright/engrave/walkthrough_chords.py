"""The walk-through of an exercise from held chords: how each is held, the pattern, and then bar by bar.

A strummed chart told string by string is no use to anybody; told as a teacher says it, it is short: the
chords first, then what the picking hand does in every bar, then the chords of each bar and what is different
there.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final

from fretwright.engrave.chord_diagram import describe
from fretwright.engrave.walkthrough_held import Act, acts_of, place_words
from fretwright.engrave.walkthrough_intro import introduction
from fretwright.engrave.walkthrough_sung import sung_words
from fretwright.engrave.walkthrough_teller import Sentence, Teller
from fretwright.engrave.walkthrough_words import counted, listed, meter_words, sentence
from fretwright.score.held import voicings_of
from fretwright.score.meter import Meter
from fretwright.score.note import Note
from fretwright.score.score import Bar, LabelKind, Score

_NAMES: Final = ("A", "B", "C", "D", "E", "F")

Acts = tuple[Act, ...]


def chords_summary(score: Score) -> str:
    """One sentence on the whole exercise, for a picture's description."""
    names = [voicing.chord.spoken for voicing in voicings_of(score)]
    bars = sum(bar.number > 0 for bar in score.bars)
    hand = "picked" if any(note.picking_finger for note in score.notes) else "strummed"
    meter = meter_words(score.bars[-1].meter)
    return sentence(f"{listed(names)}, {hand}: {counted(bars, 'bar')} of {meter}")


def chords_introduction(score: Score) -> tuple[str, ...]:
    """What is said before the first bar: instrument, time, how each chord is held, the pattern."""
    told = list(introduction(replace(score, notes=(), position=None), (), (), ""))
    told += [f"{sentence(voicing.chord.spoken)} {describe(voicing)}" for voicing in voicings_of(score)]
    main, others = _patterns(score)
    if main:
        where = "in every bar" if not others else "where nothing else is said"
        told.append(sentence(f"{where}: {_acts_words(main, score.bars[-1].meter)}"))
    told += [
        sentence(f"pattern {name}: {_acts_words(acts, score.bars[-1].meter)}")
        for acts, name in _named(others).items()
    ]
    return tuple(told)


def tell_chords(score: Score, teller: Teller) -> list[Sentence]:
    """A sentence for each bar, with the ids of its notes."""
    by_bar = _notes_by_bar(score)
    main, others = _patterns(score)
    named = _named(others)
    meter = score.bars[0].meter
    for bar in score.bars:
        notes = by_bar[bar.start]
        acts = acts_of(score, bar, notes)
        teller.name_bar(bar, meter)
        words = [*_signs(score, bar), *_chords(score, bar, acts)]
        if acts != main:
            words.append(_other(acts, named, bar))
        teller.say("; ".join(words) or "the same chord", notes, bar)
        teller.go_back(bar, score.bars)
        meter = bar.meter
    return teller.sentences


def _notes_by_bar(score: Score) -> dict[Fraction, list[Note]]:
    by_bar: dict[Fraction, list[Note]] = {bar.start: [] for bar in score.bars}
    for note in score.notes:
        by_bar[score.bar_at(note.onset).start].append(note)
    return by_bar


def _patterns(score: Score) -> tuple[Acts, list[Acts]]:
    """What is done in most bars, and all else that is done; nothing where no bar is like another."""
    by_bar = _notes_by_bar(score)
    full = [bar for bar in score.bars if bar.length == bar.meter.length]
    counts = Counter(acts_of(score, bar, by_bar[bar.start]) for bar in full)
    if not counts:
        return (), []
    (main, often), *_ = counts.most_common(1)
    others = [acts for acts in counts if acts != main]
    return (main, others) if often > 1 or not others else ((), list(counts))


def _named(others: Sequence[Acts]) -> dict[Acts, str]:
    """Patterns with a name, where they are worth one: longer than two strokes, and not too many."""
    long = [acts for acts in others if len(acts) > 2]
    return dict(zip(long, _NAMES, strict=False)) if len(long) <= len(_NAMES) else {}


def _acts_words(acts: Acts, meter: Meter) -> str:
    if not acts:
        return "the sound is held"
    return ", ".join(f"{act.words} {place_words(act.at, meter)}" for act in acts)


def _other(acts: Acts, named: dict[Acts, str], bar: Bar) -> str:
    name = named.get(acts)
    return f"pattern {name}" if name else _acts_words(acts, bar.meter)


def _signs(score: Score, bar: Bar) -> Iterator[str]:
    """Sections and other words, and what is sung."""
    inside = [label for label in score.labels if bar.start <= label.at < bar.end]
    yield from (f"“{label.text}”" for label in inside if label.kind is LabelKind.TEXT)
    yield from sung_words(inside)


def _chords(score: Score, bar: Bar, acts: Acts) -> Iterator[str]:
    """The chord of a bar, or its chords with their beats."""
    inside = [
        label for label in score.labels if label.kind is LabelKind.CHORD and bar.start <= label.at < bar.end
    ]
    for label in inside:
        name = label.voicing.chord.spoken if label.voicing is not None else "no chord"
        at = label.at - bar.start
        alone = len(inside) == 1 and at == 0
        yield name if alone else f"{name} {place_words(at, bar.meter)}"
    if not inside and acts:
        yield "the same chord"
