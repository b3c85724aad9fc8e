"""An exercise by tab: the notes of its one voice, or of two, in bars."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from fretwright.course.entries import Entries, Entry
from fretwright.course.gracefingers import with_grace_fingers
from fretwright.course.notebook import Notebook
from fretwright.course.rhythm import Row
from fretwright.course.rows import read_fingers, read_strokes, with_endings
from fretwright.course.rule import read_strings
from fretwright.course.settings import Settings, read_rhythm_keys
from fretwright.course.tabgrid import Grid, read_grids
from fretwright.course.tabheads import Instrument, head_of, read_vibratos
from fretwright.course.tabnotes import Column, bars_of_tab, in_equal_values
from fretwright.course.techniquerows import LOWER, with_techniques
from fretwright.score.assemble import BarOfEvents, Head
from fretwright.score.values import Value

_Bars = tuple[BarOfEvents, ...]


@dataclass(frozen=True, slots=True)
class _Voice:
    """One voice as it is written."""

    grid: Grid
    rhythm: Row | Value
    is_lower: bool

    @property
    def prefix(self) -> str:
        """Stands before the keys of its rows."""
        return LOWER * self.is_lower


def bars_by_tab(entries: Entries, settings: Settings, notebook: Notebook) -> _Bars | None:
    """The bars of a tab, or None with findings."""
    voices = _voices(entries, settings, notebook)
    if voices is None:
        return None
    instrument = Instrument(settings.neck, settings.scale or settings.key, read_vibratos(entries, notebook))
    read = [_bars_of(voice, entries, settings, instrument, notebook) for voice in voices]
    upper, lower = read[0], read[-1]
    if upper is None or lower is None:
        return None
    bars = with_techniques(entries, upper, notebook)
    if len(read) > 1:
        bars = _joined(bars, lower, voices[1].grid, notebook)
        bars = with_techniques(entries, bars, notebook, lower=True)
    return with_endings(entries.get("endings"), bars, notebook)


def _voices(entries: Entries, settings: Settings, notebook: Notebook) -> tuple[_Voice, ...] | None:
    """What is written for each voice, the upper one first; None with findings."""
    every = frozenset(settings.neck.tuning.strings)
    strings = read_strings(entries.get("lower strings"), settings.neck, notebook)
    if strings is not None and not 0 < len(strings) < len(every):
        message = "Both voices need strings of their own."
        notebook.error("bad-value", entries["lower strings"].span, message, "Leave some for the upper voice.")
        return None
    is_two = strings is not None or "lower tab" in entries
    groups = [every] if strings is None else [every - strings, strings]
    grids = _grids(entries.get("tab"), settings, groups, notebook)
    below = _grids(entries.get("lower tab"), settings, [every], notebook) if "lower tab" in entries else ()
    lower_rhythm = read_rhythm_keys(entries, notebook, LOWER)
    if is_two and not {"lower rhythm", "lower notes"} & entries.keys():
        where = entries["lower tab" if "lower tab" in entries else "lower strings"].key
        message = "The lower voice does not say how long its notes are."
        notebook.error("missing-key", where, message, 'Add "lower rhythm: h h", or "lower notes: halves".')
    if grids is None or below is None or settings.rhythm is None or (is_two and lower_rhythm is None):
        return None
    upper, *lower = (*grids, *below)
    voices = [_Voice(upper, settings.rhythm, is_lower=False)]
    voices += [_Voice(grid, lower_rhythm, is_lower=True) for grid in lower if lower_rhythm is not None]
    return tuple(voices)


def _grids(
    tab: Entry | None, settings: Settings, groups: Sequence[frozenset[int]], notebook: Notebook
) -> tuple[Grid, ...] | None:
    if tab is None:
        return None
    if tab.is_list or tab.texts[0].style != "|":
        message = "The lines of a tab are kept apart only under a bar line sign."
        mend = f'Write "{tab.key.text}: |", and the lines of the tab below it, two spaces to the right.'
        if not tab.is_empty:
            notebook.error("not-a-tab-block", tab.key, message, mend)
        return None
    grids = read_grids(tab.lines(), settings.neck, groups, notebook)
    if grids is not None and not any(bar.columns for grid in grids for bar in grid):
        notebook.error("nothing-to-play", tab.span, "The tab has no numbers.", "Write what is to be played.")
        return None
    return grids


def _bars_of(
    voice: _Voice, entries: Entries, settings: Settings, instrument: Instrument, notebook: Notebook
) -> _Bars | None:
    columns = [column for bar in voice.grid for column in bar.columns]
    places = [tuple(fretted.place for fretted in column) for column in columns]
    fingers = read_fingers(entries.get(f"{voice.prefix}fingers"), places, notebook)
    strokes = read_strokes(entries.get(f"{voice.prefix}strokes"), len(columns), notebook)

    def heads_of(index: int, column: Column) -> tuple[Head, ...]:
        return tuple(
            head_of(fretted, finger, strokes[index], instrument, notebook)
            for fretted, finger in zip(column, fingers[index], strict=True)
        )

    row = voice.rhythm if isinstance(voice.rhythm, Row) else in_equal_values(voice.grid, voice.rhythm)
    name = LOWER.strip() * voice.is_lower
    bars = bars_of_tab(voice.grid, row, settings.meter, settings.pickup, heads_of, notebook, name)
    return bars and with_grace_fingers(entries.get(f"{voice.prefix}grace fingers"), bars, notebook)


def _joined(upper: _Bars, lower: _Bars, lower_grid: Grid, notebook: Notebook) -> _Bars:
    """Both voices in one row of bars, what they disagree about written down."""
    if len(upper) != len(lower):
        message = f"The lower voice has {len(lower)} bars and the upper one has {len(upper)}."
        mend = "Write as many bars for both, with rests where one of them is silent."
        notebook.error("voices-disagree", lower_grid[0].span, message, mend)
        return upper
    bars = []
    for above, below, written in zip(upper, lower, lower_grid, strict=True):
        opens, closes = below.opens_repeat, below.closes_repeat
        says_nothing = not opens and not closes
        if not says_nothing and (opens, closes) != (above.opens_repeat, above.closes_repeat):
            message = "The lower voice has a repeat sign here and the upper one has another, or none."
            mend = "Write repeat signs in the upper tab; the lower one may leave them out."
            notebook.error("voices-disagree", written.span, message, mend)
        if below.events and below.length != above.length:
            message = "The two voices of this bar are not equally long."
            notebook.error("voices-disagree", written.span, message, "Fill both up, with rests if need be.")
        _refuse_shared_strings(above, below, notebook)
        bars.append(replace(above, lower=below.events))
    return tuple(bars)


def _refuse_shared_strings(upper: BarOfEvents, lower: BarOfEvents, notebook: Notebook) -> None:
    taken = {(at, head.place.string) for at, head in _struck(upper)}
    for at, head in _struck(lower):
        if (at, head.place.string) in taken and head.source is not None:
            message = f"The upper voice starts a note on string {head.place.string} at the same time."
            mend = "Write the note in one of the voices, or play it on another string."
            notebook.error("voices-collide", head.source, message, mend)


def _struck(bar: BarOfEvents) -> list[tuple[Fraction, Head]]:
    at = Fraction(0)
    struck = []
    for event in bar.events:
        struck += [(at, head) for head in event.heads if not head.tied]
        at += event.value.duration
    return struck
