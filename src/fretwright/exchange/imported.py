"""The last step of reading any file: from a draft to a score that can be played."""

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from fretwright.base.errors import ExchangeError, FretwrightError, ScoreError
from fretwright.base.findings import Finding, Severity
from fretwright.exchange.draft import Draft, DraftNote, ReadOptions
from fretwright.exchange.excerpt import excerpt
from fretwright.exchange.losses import Losses
from fretwright.exchange.settle import settled
from fretwright.exchange.slices import bars_of_events, in_one_row
from fretwright.fretboard.neck import Neck
from fretwright.score.assemble import Heading, assemble
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap, TempoMark
from fretwright.score.unfold import unfold
from fretwright.theory.pitch import Pitch

_USUAL_BPM: Final = 100.0
"""Where a file does not say how fast it goes."""
_MOST_FRETS: Final = 36
MOST_NOTES: Final = 5_000
"""Far more than an exercise has; the search for places takes its time with each."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What came of reading a file."""

    score: Score
    """Every note has a place; fingers and strokes are those of the file."""
    findings: tuple[Finding, ...]
    """What could not be carried over, in reading order."""


def as_score(draft: Draft, options: ReadOptions, losses: Losses) -> Imported:
    """Give every note its place and put bars, ties and ids together.

    Raises :class:`~fretwright.base.errors.ExchangeError` where no score can be made of it.
    """
    if options.bars is not None:
        draft = excerpt(draft, *options.bars)
    if not draft.notes:
        raise ExchangeError("The part has no notes.", "Choose another with --part.")
    if len(draft.notes) > MOST_NOTES:
        raise ExchangeError(f"The part has more than {MOST_NOTES} notes.", "Export a shorter piece.")
    draft = replace(draft, notes=tuple(_moved(note, options.octaves) for note in draft.notes))
    draft = replace(draft, neck=_long_enough(draft))
    if options.one_row:
        rows = [[note for note in draft.notes if note.voice == voice] for voice in (1, 2)]
        draft = replace(draft, notes=tuple(note for row in rows for note in in_one_row(row, losses)))
    notes = settled(draft, losses)
    heading = Heading(
        name=draft.name,
        title=draft.title,
        neck=draft.neck,
        key=draft.key,
        tempo=_tempo(draft, losses),
        swing=draft.swing,
        labels=draft.labels,
        scale=draft.scale,
        # Moved by octaves, the notes lie elsewhere on the neck.
        position=None if options.octaves else draft.position,
        air_strokes=draft.air_strokes,
        writing=draft.writing,
    )
    try:
        bars = tuple(bars_of_events(draft, notes, losses))
        score = _that_ends(assemble(heading, bars), draft, losses)
    except FretwrightError as error:
        raise ExchangeError(error.message, error.mend) from error
    return Imported(score, losses.findings())


def _moved(note: DraftNote, octaves: int) -> DraftNote:
    if not octaves:
        return note
    return replace(note, pitch=Pitch(note.pitch.name, note.pitch.octave + octaves), place=None)


def _long_enough(draft: Draft) -> Neck:
    """The neck, with as many more frets as the file's own places need."""
    neck = draft.neck
    frets = [
        note.place.fret + neck.capo
        for note in draft.notes
        if note.place is not None
        and note.place.string in neck.tuning.strings
        and (
            neck.tuning.open_pitch(note.place.string).midi + neck.capo + note.place.fret == note.pitch.midi
            or note.asked.harmonic is not None
        )
    ]
    needed = max(frets, default=0)
    return replace(neck, frets=needed) if neck.frets < needed <= _MOST_FRETS else neck


def _tempo(draft: Draft, losses: Losses) -> TempoMap:
    marks = draft.tempo
    beat = draft.bars[0].meter.beat
    if not marks:
        losses.add(
            "no-tempo",
            draft.span,
            f"The file does not say how fast it goes; {_USUAL_BPM:g} beats a minute were taken.",
            "Write the tempo that you teach it at.",
            severity=Severity.ADVICE,
        )
        return TempoMap.constant(_USUAL_BPM, beat)
    if marks[0].at != 0:
        marks = (TempoMark(Fraction(0), marks[0].bpm, marks[0].beat), *marks[1:])
    return TempoMap(marks)


def _that_ends(score: Score, draft: Draft, losses: Losses) -> Score:
    """The score, without its repeats where those never come to an end."""
    try:
        unfold(score.bars)
    except ScoreError as error:
        message = f"{error.message[:1].upper()}{error.message[1:]}; they were left out."
        losses.add("repeats-left-out", draft.span, message, "Mend the repeat signs in the file.")
        bars = (replace(bar, opens_repeat=False, closes_repeat=0, endings=()) for bar in score.bars)
        return replace(score, bars=tuple(bars))
    return score
