"""What a teacher says of chords: which string of which chord, how often, and what to do with the hand."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from fretwright.ear.verdicts import HeardNote, HeardStroke, Verdict
from fretwright.score.timeline import TimedNote
from fretwright.theory.chord_names import names_of

_ORDINALS: Final = ("1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th")
_LEAST_OF_CHORD: Final = 3
_MENDS: Final = {
    "dead": "press just behind the fret, and let no other finger lean on it",
    "dead, open": "stand the fingers up, so that none touches it",
    "open": "its finger does not hold it down",
    "beside": "look where its finger lands",
}


@dataclass(frozen=True, slots=True)
class _Fault:
    """One string of one chord that went badly, over the strokes of that chord in a row."""

    string: int
    kind: str
    """What sounded: ``dead`` or a pitch's difference."""
    steps: int | None
    """Semitones from the written note; none for a dead string."""
    count: int
    heard: int
    """Strokes of the chord that were heard."""
    first: int
    """Place of the first note concerned."""
    is_open: bool
    sounds_open: bool


def remarks_on_chords(
    asked: Sequence[TimedNote], notes: Sequence[HeardNote], strokes: Sequence[HeardStroke], shift: int
) -> tuple[str, ...]:
    """What to say of strings and strokes, the gravest first; nothing where all came as written."""
    faults = [
        fault
        for run in _chords(asked, strokes)
        for fault in _faults(asked, notes, [one for one in run if one.onset_s is not None], shift)
    ]
    faults.sort(key=lambda fault: (-fault.count, fault.first))
    missed = [stroke for stroke in strokes if _left_out(stroke, notes)]
    said = [_said(asked, strokes, fault) for fault in faults[:2]]
    if missed:
        words = "1 stroke was" if len(missed) == 1 else f"{len(missed)} strokes were"
        said.append(f"{words} left out, the first in bar {_bar(asked[missed[0].places[0]])}.")
    if len(faults) > 2:
        more = len(faults) - 2
        said.append(f"{more} more {'string' if more == 1 else 'strings'} of other chords did not come clean.")
    return tuple(said)


def _left_out(stroke: HeardStroke, notes: Sequence[HeardNote]) -> bool:
    return stroke.onset_s is None and all(notes[place].verdict is Verdict.MISSED for place in stroke.places)


def _chords(asked: Sequence[TimedNote], strokes: Sequence[HeardStroke]) -> Iterator[list[HeardStroke]]:
    """Strokes of the same places in a row."""
    for _, run in groupby(
        strokes, key=lambda one: tuple((asked[at].note.string, asked[at].note.fret) for at in one.places)
    ):
        yield list(run)


def _faults(
    asked: Sequence[TimedNote], notes: Sequence[HeardNote], run: Sequence[HeardStroke], shift: int
) -> Iterator[_Fault]:
    for column in zip(*(one.places for one in run), strict=True):
        bad = [at for at in column if notes[at].verdict in {Verdict.MISSED, Verdict.WRONG}]
        if not bad:
            continue
        note = asked[bad[0]].note
        wrong = [at for at in bad if notes[at].heard_midi is not None]
        steps = None
        if len(wrong) * 2 > len(bad):
            steps = (notes[wrong[0]].heard_midi or 0) - note.midi - shift
        yield _Fault(
            string=note.string,
            kind="dead" if steps is None else "other",
            steps=steps,
            count=len(bad),
            heard=len(run),
            first=bad[0],
            is_open=note.fret == 0,
            sounds_open=steps is not None and note.fret > 0 and steps == -note.fret,
        )


def _said(asked: Sequence[TimedNote], strokes: Sequence[HeardStroke], fault: _Fault) -> str:
    stroke = next(one for one in strokes if fault.first in one.places)
    where = f"In the {_chord(asked, stroke)} of bar {_bar(asked[fault.first])}"
    if len(stroke.places) == 1:
        where = f"In bar {_bar(asked[fault.first])}"
    if fault.steps is None:
        what, mend = "is dead", _MENDS["dead, open" if fault.is_open else "dead"]
    elif fault.sounds_open:
        what, mend = "sounds open", _MENDS["open"]
    else:
        size, way = abs(fault.steps), "higher" if fault.steps > 0 else "lower"
        what = f"sounds {size} {'fret' if size == 1 else 'frets'} {way} than written"
        mend = _MENDS["beside"]
    share = f" in {fault.count} of {fault.heard} strokes" if fault.heard > 1 else ""
    return f"{where} the {_ORDINALS[fault.string - 1]} string {what}{share}: {mend}."


def _chord(asked: Sequence[TimedNote], stroke: HeardStroke) -> str:
    """The chord's name, where it has a plain one."""
    pitches = [asked[place].note.midi for place in stroke.places]
    names = names_of(pitches, min(pitches)) if len(pitches) >= _LEAST_OF_CHORD else ()
    return f"{names[0].chord} chord" if names else "chord"


def _bar(timed: TimedNote) -> int:
    return int(timed.note.id[1 : timed.note.id.index("t")])
