"""What to play over a chart, as pages and handouts show it."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from fretwright.engrave.walkthrough_words import listed
from fretwright.score.held import voicings_of
from fretwright.score.score import LabelKind, Score
from fretwright.theory.chord import Chord
from fretwright.theory.scale import Scale
from fretwright.theory.soloing import common_tones, scales_over, scales_over_all


@dataclass(frozen=True, slots=True)
class OverChordRow:
    """One chord of a chart with what goes with it."""

    chord: str
    scales: tuple[str, ...]
    """Each scale with its notes: ``D mixolydian: D E F♯ G A B C``."""
    shared: str
    """Which notes it shares with the chords that follow it; may be empty."""


@dataclass(frozen=True, slots=True)
class OverChart:
    """What goes with a chart."""

    whole: tuple[str, ...]
    """Scales for all of it, with their notes; may be empty."""
    rows: tuple[OverChordRow, ...]


def over_chart(score: Score) -> OverChart | None:
    """Scales for a chart and for each of its chords; None for a score without held chords."""
    if not voicings_of(score):
        return None
    chords = _chords(score)
    distinct = tuple(dict.fromkeys(chords))
    whole = tuple(_scale(scale) for scale in scales_over_all(distinct, score.key))
    return OverChart(whole, tuple(_row(chord, chords, score) for chord in distinct))


def _chords(score: Score) -> list[Chord]:
    """The chords in order, each once where it goes on."""
    found: list[Chord] = []
    for label in score.labels:
        if label.kind is LabelKind.CHORD and label.voicing is not None:
            chord = label.voicing.chord
            if not found or found[-1] != chord:
                found.append(chord)
    return found


def _row(chord: Chord, chords: Sequence[Chord], score: Score) -> OverChordRow:
    scales = tuple(_scale(over.scale) for over in scales_over(chord, score.key))
    following = dict.fromkeys(after for before, after in pairwise(chords) if before == chord)
    return OverChordRow(chord.pretty, scales, "; ".join(_shared(chord, after) for after in following))


def _shared(chord: Chord, after: Chord) -> str:
    tones = [tone.pretty for tone in common_tones(chord, after)]
    return f"{listed(tones) if tones else 'nothing'} with {after.pretty}"


def _scale(scale: Scale) -> str:
    return f"{scale.pretty}: {' '.join(note.pretty for note in scale.notes)}"
