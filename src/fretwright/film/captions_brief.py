"""What is played in few words, bar by bar: captions for music that goes faster than its walk-through is read.

A line of eighth notes at 60 beats a minute has two notes a second, and the walk-through takes some forty
characters for each. So where its sentences cannot be read in their time, the captions say the same in the
figures that stand in the tab, as many bars at a time as give the eye time to read them; and where even those
are too many, only which strings, frets or chords are played. Nothing is shown too briefly to be read.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from fretwright.engrave.walkthrough_held import is_held
from fretwright.film.captions_text import is_readable, lines
from fretwright.film.clock import BarSpan, Clock
from fretwright.score.note import Attack, Note
from fretwright.score.score import LabelKind, Score

_MOST_BARS: Final = 8
_COST_LESS: Final = 2.0
"""For each bar of which less than all is told."""
_COST_SILENT: Final = 50.0
_COST_JOINED: Final = 0.1
_SIGNS: Final = {Attack.HAMMER_ON: "h", Attack.PULL_OFF: "p", Attack.TAP: "t"}


@dataclass(frozen=True, slots=True)
class Brief:
    """Some bars in few words."""

    start_s: float
    end_s: float
    text: str


@dataclass(frozen=True, slots=True)
class _Passage:
    """Bars that follow each other, and what sounds in them."""

    bars: Sequence[BarSpan]
    moments: Sequence[Sequence[Note]]
    """Notes that start together, in order of time."""


def brief(score: Score, clock: Clock) -> tuple[Brief, ...]:
    """The music of a clock, each of its bars told once unless nothing at all could be read.

    Of all ways to put bars together the one that tells most (shortest path over the bars).
    """
    bars = clock.bars
    best: list[tuple[float, int, Brief | None]] = [(0.0, 0, None)]
    for stop in range(1, len(bars) + 1):
        ways: list[tuple[float, int, Brief | None]] = [(best[stop - 1][0] + _COST_SILENT, stop - 1, None)]
        for start in range(stop - 1, max(-1, stop - 1 - _MOST_BARS), -1):
            if start < stop - 1 and not _follow(bars[start], bars[start + 1]):
                break
            told = _told(score, clock, bars[start:stop])
            if told is not None:
                cost, words = told
                ways.append((best[start][0] + cost, start, words))
        best.append(min(ways, key=lambda way: way[0]))
    chosen: list[Brief] = []
    stop = len(bars)
    while stop:
        _, start, kept = best[stop]
        if kept is not None:
            chosen.append(kept)
        stop = start
    return tuple(reversed(chosen))


def _follow(one: BarSpan, other: BarSpan) -> bool:
    return other.index == one.index + 1 and other.time_through == one.time_through


def _told(score: Score, clock: Clock, bars: Sequence[BarSpan]) -> tuple[float, Brief] | None:
    """The fullest words for some bars that can be read in their time, and what they leave out."""
    start_s, end_s = bars[0].start_s, bars[-1].end_s
    passage = _Passage(bars, _moments(score, clock, bars))
    heading = _heading(score, bars)
    for level, words in enumerate(_tellings(score, passage)):
        text = f"{heading}: {words}"
        if len(lines(text)) <= 2 and is_readable(text, start_s, end_s):
            cost = _COST_LESS * level * len(bars) + _COST_JOINED * (len(bars) - 1)
            return cost, Brief(start_s, end_s, text)
    return None


def _moments(score: Score, clock: Clock, bars: Sequence[BarSpan]) -> list[list[Note]]:
    """Notes that are written together; of a strum the first may sound before its bar."""
    notes = {note.id: note for note in score.notes}
    some = []
    for bar in bars:
        written = score.bars[bar.index]
        some += [
            notes[each.note_id]
            for each in clock.notes
            if each.pass_index == bar.time_through - 1
            and written.start <= notes[each.note_id].onset < written.end
        ]
    return [list(group) for _, group in groupby(some, key=lambda note: note.onset)]


def _heading(score: Score, bars: Sequence[BarSpan]) -> str:
    first, last = (score.bars[bar.index].number for bar in (bars[0], bars[-1]))
    joint = "and" if last == first + 1 else "to"
    where = f"Bars {first} {joint} {last}" if last > first else f"Bar {first}" if first else "Pickup"
    return f"{where}, again" if bars[0].time_through > 1 else where


def _tellings(score: Score, passage: _Passage) -> Iterator[str]:
    """All that is played, then less and less of it."""
    if not passage.moments:
        yield ", ".join(_written(score, passage.bars)) or "rest"
        return
    chords = _chords(score, passage) if is_held(score) else []
    if not chords or all(_is_strummed(moment) for moment in passage.moments):
        yield "; ".join(_rows(score, passage))
    if chords:
        # what is held is what the hand has to know; the strings follow from it
        yield ", ".join(chords)
        return
    strings, frets = _where(passage)
    ways = _ways(passage)
    if ways:
        yield f"{strings}, {frets}, with {' and '.join(ways)}"
    yield f"{strings}, {frets}"
    yield strings


def _rows(score: Score, passage: _Passage) -> Iterator[str]:
    """What stands on one string, or is struck from one chord, together."""

    def ground(moment: Sequence[Note]) -> str:
        if _is_strummed(moment):
            return _chord_at(score, moment[0]) or "strum"
        strings = "+".join(str(note.string) for note in moment)
        return f"string{'s' if len(moment) > 1 else ''} {strings}"

    for name, group in groupby(passage.moments, key=ground):
        yield f"{name}: {' '.join(_figure(moment) for moment in group)}"


def _is_strummed(moment: Sequence[Note]) -> bool:
    return len(moment) > 2 and moment[0].stroke is not None


def _figure(moment: Sequence[Note]) -> str:
    if _is_strummed(moment):
        return str(moment[0].stroke)
    return "+".join(_fret(note) for note in moment)


def _fret(note: Note) -> str:
    """A note as tab writes it on one line (common practice, no source)."""
    how = note.techniques
    if how.dead:
        return "x"
    if how.harmonic is not None:
        return f"<{note.fret}>"
    sign = f"{_SIGNS[note.attack]} " if note.attack in _SIGNS else "/ " if _slides(note) else ""
    bent = "b" if how.bend is not None else ""
    return f"{sign}{note.fret}{bent}{'~' if how.vibrato is not None else ''}"


def _slides(note: Note) -> bool:
    return note.attack is Attack.SLIDE or note.techniques.shift_slide


def _chord_at(score: Score, note: Note) -> str | None:
    """The chord name that stands over a note, or the last one before it."""
    names = [label.text for label in score.labels if label.kind is LabelKind.CHORD and label.at <= note.onset]
    return names[-1] if names else None


def _chords(score: Score, passage: _Passage) -> list[str]:
    names = [_chord_at(score, moment[0]) for moment in passage.moments]
    return [name for place, name in enumerate(names) if name and (not place or names[place - 1] != name)]


def _written(score: Score, bars: Sequence[BarSpan]) -> list[str]:
    """The chord names of a chart, which has nothing but them; over the rests of a line they say nothing."""
    if score.notes:
        return []
    spans = [score.bars[bar.index] for bar in bars]
    return [
        label.text
        for label in score.labels
        if label.kind is LabelKind.CHORD and any(bar.start <= label.at < bar.end for bar in spans)
    ]


def _where(passage: _Passage) -> tuple[str, str]:
    """The strings in the direction in which they are played, and the frets from the lowest on."""
    strings = [note.string for moment in passage.moments for note in moment]
    frets = [note.fret for moment in passage.moments for note in moment]
    ends = (max(strings), min(strings)) if strings[0] >= strings[-1] else (min(strings), max(strings))
    return _span("string", ends), _span("fret", (min(frets), max(frets)))


def _span(name: str, ends: tuple[int, int]) -> str:
    first, last = ends
    if first == last:
        return f"{name} {first}"
    return f"{name}s {first} {'and' if abs(last - first) == 1 else 'to'} {last}"


def _ways(passage: _Passage) -> list[str]:
    """The two techniques that are asked for most."""
    counts: dict[str, int] = {}
    for moment in passage.moments:
        for note in moment:
            for name, there in _techniques(note):
                counts[name] = counts.get(name, 0) + there
    return sorted((name for name in counts if counts[name]), key=lambda name: -counts[name])[:2]


def _techniques(note: Note) -> tuple[tuple[str, bool], ...]:
    how = note.techniques
    return (
        ("hammer-ons", note.attack is Attack.HAMMER_ON),
        ("pull-offs", note.attack is Attack.PULL_OFF),
        ("slides", _slides(note)),
        ("taps", note.attack is Attack.TAP),
        ("bends", how.bend is not None),
        ("vibrato", how.vibrato is not None),
        ("harmonics", how.harmonic is not None),
        ("palm mute", how.palm_mute),
        ("rolled chords", how.roll is not None),
    )
