"""Exercises from chords: a chart, and what the picking hand does to it.

    chords: G | C | D | G          what is held
    strum: d . d u . u d u         what is struck, or
    picking: p i m i a i m i       what is plucked
    rhythm: q e+ q e e e           when, where it is not an even grid

``form`` and ``change`` make the chart from a name; without a pattern a chart is struck on every beat, and a
change where its chords begin.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final, TypeVar

from fretwright.base.errors import FretwrightError
from fretwright.base.spans import Span
from fretwright.course.answer import silent_bars
from fretwright.course.chordrow import ChartBar, read_change, read_chart, read_form
from fretwright.course.entries import Entries, Entry
from fretwright.course.hitbars import bars_of_hits
from fretwright.course.keys import CHORD_SOURCES, PATTERN_KEYS, RULE_KEYS, TAB_KEYS
from fretwright.course.lyrics import read_lyrics
from fretwright.course.notebook import Notebook, did_you_mean
from fretwright.course.pattern import (
    EntryReader,
    Pattern,
    Strike,
    on_every_beat,
    read_picking,
    read_plucks,
    read_strike,
    read_strum,
)
from fretwright.course.patternrhythm import over_rhythm
from fretwright.course.rhythm import Row
from fretwright.course.settings import Settings
from fretwright.course.struck import BarPlace, Hand, Held, Hit, Strummed
from fretwright.course.targets import target_hits
from fretwright.course.techniquerows import with_techniques
from fretwright.course.values import refuse
from fretwright.course.voicingkey import held_chords, read_voicings
from fretwright.fretboard.voicing import Voicing
from fretwright.score.score import Label, LabelKind, Writing
from fretwright.score.values import Value
from fretwright.theory.chord import Chord
from fretwright.theory.pitch import NoteName

MOST_STROKES: Final = 1600
"""No chart has more; each is up to as many notes as the instrument has strings."""

_Known = TypeVar("_Known")
_WRITINGS: Final = {
    "slashes": Writing.SLASHES,
    "in slashes": Writing.SLASHES,
    "in full": Writing.NOTES,
    "notes": Writing.NOTES,
    "in notes": Writing.NOTES,
}
_FOREIGN_KEYS: Final = (
    *RULE_KEYS, *TAB_KEYS, "tab", "fingers", "strokes", "notes", "picking hand",
)  # fmt: skip
"""Keys that say what is played note by note."""
_BASSES: Final = {"alternating": True, "root": False}


def is_of_chords(entries: Entries) -> bool:
    """Whether an exercise has its notes from chords: it has a pattern, or a chart by name."""
    return bool({*PATTERN_KEYS, "form", "change"} & entries.keys())


def refuse_chord_clashes(entries: Entries, notebook: Notebook) -> None:
    """Write down keys that give notes, or their lengths, where chords and a pattern give them already."""
    free_of_rhythm = {"targets", "change"} & entries.keys() and not {"strum", "picking"} & entries.keys()
    for name in (*_FOREIGN_KEYS, *(["rhythm"] if free_of_rhythm else [])):
        if name in entries:
            message = f'"{name}" says what is played note by note, and here chords and a pattern say it.'
            notebook.error("keys-clash", entries[name].key, message, f'Delete "{name}".')
    for names in (PATTERN_KEYS, CHORD_SOURCES):
        there = [name for name in names if name in entries]
        if len(there) > 1:
            message = f'"{there[0]}" and "{there[1]}" say the same thing twice.'
            notebook.error("keys-clash", entries[there[1]].key, message, "Keep one of the two.")


def strummed(entries: Entries, settings: Settings, block: Span, notebook: Notebook) -> Strummed | None:
    """The bars, names and strokes of an exercise from chords, or None with findings."""
    chart = _chart(entries, settings, notebook)
    pattern = _pattern(entries, settings, block, notebook)
    fixed = read_voicings(entries.get("voicings"), settings.neck, notebook)
    alternates = _choice(entries.get("bass"), _BASSES, notebook)
    writing = _choice(entries.get("written"), _WRITINGS, notebook)
    if pattern is not None:
        _refuse_too_long(pattern, len(chart), block, notebook)
    if notebook.is_broken or not chart or (pattern is None and "change" not in entries):
        return None
    places = tuple(_places(chart, settings))
    if "targets" in entries:
        return _targeted(entries, settings, chart, places, block, notebook)
    held = _held(chart, places, fixed, settings, notebook)
    if held is None:
        return None
    silent = silent_bars(entries, len(chart), notebook)
    hand = Hand(settings.neck, held, notebook, alternates=bool(alternates), silent=silent)
    if pattern is None:
        hand.strike_each_chord(settings.meter.beat)
    else:
        hand.play(pattern, places, settings.meter)
    lyrics = read_lyrics(entries.get("lyrics"), chart, places, settings.meter, notebook)
    for chord in hand.unstruck:
        message = f"{chord.span.text} comes and goes without being struck."
        notebook.warning("chord-never-struck", chord.span, message, "Add a stroke where it begins.")
    if hand.is_refused:
        return None
    hits = _ringing(hand.hits, held) if "picking" in entries else hand.hits
    try:
        written = _written_values(pattern, len(chart), silent)
        bars = bars_of_hits(hits, chart, places, settings.meter, block, written)
    except FretwrightError as error:
        notebook.refused("bar-does-not-add-up", block, error)
        return None
    labels = (*_labels(chart, places, held), *lyrics)
    bars = with_techniques(entries, bars, notebook)
    usual = Writing.SLASHES if pattern is None or _is_plain(pattern) else Writing.NOTES
    return Strummed(bars, labels, tuple(hand.air_strokes), usual if writing is None else writing)


def _refuse_too_long(pattern: Pattern, bars: int, block: Span, notebook: Notebook) -> None:
    if sum(len(pattern.bar(nth).steps) for nth in range(bars)) > MOST_STROKES:
        message = f"The chart has more than {MOST_STROKES} strokes."
        notebook.error("exercise-too-long", block, message, 'Shorten it and use "repeat".')


def _targeted(
    entries: Entries,
    settings: Settings,
    chart: Sequence[ChartBar],
    places: Sequence[BarPlace],
    block: Span,
    notebook: Notebook,
) -> Strummed | None:
    """One note of each chord, or two, as ``targets`` says."""
    hits = target_hits(entries["targets"], chart, places, settings, notebook)
    if notebook.is_broken:
        return None
    try:
        bars = bars_of_hits(hits, chart, places, settings.meter, block)
    except FretwrightError as error:
        notebook.refused("bar-does-not-add-up", block, error)
        return None
    lyrics = read_lyrics(entries.get("lyrics"), chart, places, settings.meter, notebook)
    return Strummed(bars, (*_labels(chart, places, ()), *lyrics), (), Writing.NOTES)


def _chart(entries: Entries, settings: Settings, notebook: Notebook) -> tuple[ChartBar, ...]:
    if "form" in entries:
        if not {"key", "scale"} & entries.keys():
            message = "The form does not say in which key it is."
            notebook.error("missing-key", entries["form"].key, message, 'Add "key: A major".')
            return ()
        return read_form(entries["form"], _tonic(settings), settings.meter, notebook)
    if "change" in entries:
        return read_change(entries["change"], settings.meter, notebook)
    if "chords" not in entries:
        return ()
    tonic = _tonic(settings) if {"key", "scale"} & entries.keys() else None
    return read_chart(entries["chords"], settings.meter, tonic, notebook)


def _tonic(settings: Settings) -> NoteName:
    return settings.scale.tonic if settings.scale is not None else settings.key.tonic


def _pattern(entries: Entries, settings: Settings, block: Span, notebook: Notebook) -> Pattern | None:
    if isinstance(settings.rhythm, Row) and "rhythm" in entries:
        read: EntryReader = read_plucks if "picking" in entries else read_strike
        entry = entries.get("picking") or entries.get("strum")
        return over_rhythm(settings.rhythm, entries["rhythm"], entry, settings.meter, read, notebook)
    if "strum" in entries:
        return read_strum(entries["strum"], settings.meter, notebook)
    if "picking" in entries:
        return read_picking(entries["picking"], settings.meter, notebook)
    return None if "change" in entries else on_every_beat(settings.meter, block)


def _written_values(
    pattern: Pattern | None, bars: int, silent: Collection[int]
) -> tuple[tuple[Value, ...], ...]:
    """How each bar is divided on the page, where the pattern says it."""
    return tuple(() if pattern is None or nth in silent else pattern.bar(nth).values for nth in range(bars))


def _choice(entry: Entry | None, known: Mapping[str, _Known], notebook: Notebook) -> _Known | None:
    if entry is None or entry.is_empty:
        return None
    text = " ".join(entry.text.lower().split())
    if text not in known:
        refuse(entry, did_you_mean(text, known), notebook)
    return known.get(text)


def _places(chart: Sequence[ChartBar], settings: Settings) -> Iterator[BarPlace]:
    at = Fraction(0)
    for nth, _ in enumerate(chart):
        length = settings.pickup if nth == 0 and settings.pickup else settings.meter.length
        yield BarPlace(at, length)
        at += length


def _held(
    chart: Sequence[ChartBar],
    places: Sequence[BarPlace],
    fixed: dict[Chord, Voicing],
    settings: Settings,
    notebook: Notebook,
) -> tuple[Held, ...] | None:
    """Each chord of the chart with its voicing; a name that comes again is one chord still."""
    named = [
        (place.start + name.at, name) for bar, place in zip(chart, places, strict=True) for name in bar.names
    ]
    chords = [(name.chord, name.span) for _, name in named if name.chord is not None]
    voicings = held_chords(chords, fixed, settings.neck, settings.position, notebook)
    if voicings is None:
        return None
    held: list[Held] = []
    for at, name in named:
        voicing = voicings[name.chord] if name.chord is not None else None
        if not held or held[-1].voicing != voicing:
            held.append(Held(at, voicing, name.span))
    return tuple(held)


def _labels(chart: Sequence[ChartBar], places: Sequence[BarPlace], held: Sequence[Held]) -> Iterator[Label]:
    """Section names and chord names, each chord with how it is held."""
    voicing_of = {one.voicing.chord: one.voicing for one in held if one.voicing is not None}
    for bar, place in zip(chart, places, strict=True):
        if bar.section:
            yield Label(place.start, bar.section, LabelKind.TEXT)
        for name in bar.names:
            if name.is_printed:
                voicing = voicing_of.get(name.chord) if name.chord is not None else None
                yield Label(place.start + name.at, name.text, LabelKind.CHORD, voicing)


def _is_plain(pattern: Pattern) -> bool:
    """Whether every stroke passes over whole chords, so that slashes say all there is."""
    actions = [step.action for bar in pattern.bars for step in bar.steps]
    return all(
        not isinstance(action, tuple)
        and not (isinstance(action, Strike) and (action.bass is not None or action.most is not None))
        for action in actions
    )


def _ringing(hits: Sequence[Hit], held: Sequence[Held]) -> tuple[Hit, ...]:
    """Plucked strings ring on, but for the last one before a chord ends: then the hand leaves its strings."""
    ends = [chord.at for chord in held[1:]]
    return tuple(
        hit if _is_last_before(hit, hits[nth + 1 :][:1], ends) else _let_ring(hit)
        for nth, hit in enumerate(hits)
    )


def _is_last_before(hit: Hit, following: Sequence[Hit], ends: Sequence[Fraction]) -> bool:
    until = following[0].at if following else None
    return until is None or any(hit.at < end <= until for end in ends)


def _let_ring(hit: Hit) -> Hit:
    heads = tuple(replace(head, techniques=replace(head.techniques, let_ring=True)) for head in hit.heads)
    return replace(hit, heads=heads)
