"""What the ear heard, written onto the exercise's own plate: verdicts become marks, marks a picture."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from fretwright.base.errors import RenderError
from fretwright.check.check import Checked
from fretwright.ear.pulse import JUST_HEARD_S, JUST_HEARD_SHARE
from fretwright.ear.verdicts import BendVerdict, HeardAttack, HeardNote, Hearing, Verdict, VibratoVerdict
from fretwright.engrave.heard import HeardPlate, heard_plate
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.score.marks import BetweenMark, Mark, MarkedScore, MarkShape, NoteLevel, NoteTiming
from fretwright.score.score import Score
from fretwright.score.timeline import TimedNote, timeline
from fretwright.theory.key import Key

_MARKED_SHARE: Final = 0.05
"""Of the interval: what a steady player stays within (musicians tap within some 2-4 %, from memory). The
strip shows less; a mark asks to be worked on."""
_ORDINALS: Final = ("1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th")
_MEANINGS: Final = {
    MarkShape.RING: "not heard",
    MarkShape.CROSS: "another note",
    MarkShape.DIAMOND: "cannot tell",
    MarkShape.LEFT: "early, in ms",
    MarkShape.RIGHT: "late, in ms",
    MarkShape.SQUARE: "started in another way than written",
    MarkShape.DOWN: "a bend or vibrato that falls short, in cents",
    MarkShape.UP: "a bend that goes too far, in cents",
    MarkShape.PLUS: "one note too many",
}


@dataclass(frozen=True, slots=True)
class _Sounding:
    """One written note, as asked and as heard."""

    asked: TimedNote
    heard: HeardNote
    interval_s: float
    """From the note before, at the tempo that was played; for the first note, to the next."""
    in_stroke: bool = False
    """Whether it belongs to a stroke that was heard: a string of it that was not is dead."""
    leads: bool = True
    """Whether the time of its stroke is told at this note."""

    @property
    def band_ms(self) -> float:
        """What nobody hears as late or early."""
        return 1000 * max(JUST_HEARD_S, JUST_HEARD_SHARE * self.interval_s)

    @property
    def told(self) -> bool:
        """Whether what was measured belongs to this note for certain."""
        return self.heard.verdict in {Verdict.PLAYED, Verdict.WRONG}


def hearing_picture(
    checked: Checked,
    name: str,
    heard: Hearing,
    style: PlateStyle = PlateStyle(),  # noqa: B008 - immutable
    id_prefix: str = "heard",
) -> HeardPlate:
    """The plate of the exercise ``lesson/exercise`` with a hearing of it written on.

    Raises :class:`~fretwright.base.errors.UsageError` if the course has no such exercise, and
    :class:`~fretwright.base.errors.RenderError` if the hearing is of another one.
    """
    exercise = checked.course.exercise(name)
    score = checked.fingered[exercise.name].score
    marked = marks_of(score, heard)
    title = f"{exercise.title}: what was heard"
    return heard_plate(
        engrave(score, style, title=title, id_prefix=f"{id_prefix}-plate"),
        marked,
        title=title,
        description=_told(marked, heard),
        id_prefix=id_prefix,
    )


def marks_of(score: Score, heard: Hearing) -> MarkedScore:
    """Everything of a hearing that is written onto a plate of its score."""
    soundings = _soundings(score, heard)
    key = score.key
    marks = tuple(mark for sounding in soundings for mark in _marks(sounding, key, heard.shift))
    between = tuple(_extras(soundings, heard, key))
    shapes = {mark.shape for mark in marks} | {mark.shape for mark in between}
    told = [sounding for sounding in soundings if sounding.told]
    return MarkedScore(
        headline=f"{heard.advice.headline} {heard.advice.next_words}",
        marks=marks,
        between=between,
        timings=tuple(
            NoteTiming(each.heard.id, each.heard.timing_ms, round(each.band_ms, 1))
            for each in told
            if each.heard.timing_ms is not None and each.leads
        ),
        levels=tuple(
            NoteLevel(each.heard.id, each.heard.level_db, each.asked.note.attack.is_slur)
            for each in told
            if each.heard.level_db is not None
        ),
        meanings=tuple((shape, words) for shape, words in _MEANINGS.items() if shape in shapes),
    )


def _soundings(score: Score, heard: Hearing) -> list[_Sounding]:
    played = timeline(score)
    if [timed.note.id for timed in played.notes] != [note.id for note in heard.notes]:
        raise RenderError("What was heard is of another exercise.", "Hear the take again.")
    slower = played.bpm / heard.tempo_bpm
    onsets = sorted({timed.onset_s for timed in played.notes})
    gaps = [slower * (two - one) for one, two in pairwise(onsets)]
    interval_after = dict(zip(onsets, [*gaps[:1], *gaps] if gaps else [1.0], strict=True))
    struck = {place: stroke.onset_s is not None for stroke in heard.strokes for place in stroke.places}
    leads = {
        next((at for at in stroke.places if heard.notes[at].timing_ms is not None), None)
        for stroke in heard.strokes
    }
    return [
        _Sounding(
            asked,
            note,
            interval_after[asked.onset_s],
            in_stroke=struck.get(place, False),
            leads=not heard.strokes or place in leads,
        )
        for place, (asked, note) in enumerate(zip(played.notes, heard.notes, strict=True))
    ]


def _marks(sounding: _Sounding, key: Key, shift: int) -> Iterator[Mark]:
    """The marks of one sounding, the gravest first."""
    note, written = sounding.heard, sounding.asked.note
    again = f" ({sounding.asked.time_through})" if sounding.asked.time_through > 1 else ""
    if note.verdict is Verdict.MISSED and sounding.in_stroke:
        yield Mark(note.id, MarkShape.RING, f"{_ORDINALS[written.string - 1]} string dead{again}")
    elif note.verdict is Verdict.MISSED:
        yield Mark(note.id, MarkShape.RING, f"missed{again}")
    elif note.verdict is Verdict.UNSURE:
        yield Mark(note.id, MarkShape.DIAMOND, f"unsure{again}")
    elif note.verdict is Verdict.WRONG and note.heard_midi is not None:
        yield Mark(note.id, MarkShape.CROSS, f"{_name(key, note.heard_midi - shift)}{again}")
    if not sounding.told or not sounding.leads:
        return
    if written.attack.is_slur and note.attack is HeardAttack.PLUCK and note.verdict is Verdict.PLAYED:
        yield Mark(note.id, MarkShape.SQUARE, f"plucked{again}")
    if not written.attack.is_slur and note.attack is HeardAttack.SLUR:
        yield Mark(note.id, MarkShape.SQUARE, f"slurred{again}")
    yield from _moving_marks(note, again)
    off_ms = note.timing_ms or 0.0
    if abs(off_ms) > max(sounding.band_ms, 1000 * _MARKED_SHARE * sounding.interval_s):
        shape, word = (MarkShape.RIGHT, "late") if off_ms > 0 else (MarkShape.LEFT, "early")
        yield Mark(note.id, shape, f"{word} {abs(off_ms):.0f}{again}")


def _extras(soundings: Sequence[_Sounding], heard: Hearing, key: Key) -> Iterator[BetweenMark]:
    """Each extra between the notes before and after it; a note not heard stands where it was due."""
    known = [each for each in soundings if each.heard.onset_s is not None]
    if not known:
        return
    onsets = np.interp(
        [each.asked.onset_s for each in soundings],
        [each.asked.onset_s for each in known],
        [each.heard.onset_s or 0.0 for each in known],
    )
    for extra in heard.extras:
        following = int(np.searchsorted(onsets, extra.onset_s, side="right"))
        yield BetweenMark(
            soundings[following - 1].heard.id if following else None,
            soundings[following].heard.id if following < len(soundings) else None,
            MarkShape.PLUS,
            _name(key, extra.midi - heard.shift),
        )


def _moving_marks(note: HeardNote, again: str) -> Iterator[Mark]:
    bend = note.bend
    if bend is not None and bend.verdict in {BendVerdict.SHORT, BendVerdict.SHARP}:
        short = bend.verdict is BendVerdict.SHORT
        words = f"bend {abs(bend.off_cents or 0.0):.0f} cents {'short' if short else 'sharp'}"
        yield Mark(note.id, MarkShape.DOWN if short else MarkShape.UP, f"{words}{again}")
    if note.vibrato is not None and note.vibrato.verdict is VibratoVerdict.STILL:
        yield Mark(note.id, MarkShape.DOWN, f"no vibrato{again}")


def _name(key: Key, midi: int) -> str:
    """A heard note as the key spells it, with its octave: a slip of twelve frets is a slip too."""
    return key.spell(midi).pretty


def _told(marked: MarkedScore, heard: Hearing) -> str:
    """The picture in words, for whoever cannot see it."""
    meaning = dict(marked.meanings)
    parts = [f"{mark.note_id}: {meaning[mark.shape]}, {mark.word}" for mark in marked.marks]
    parts += [
        f"{'after ' + mark.after_id if mark.after_id else 'before the first note'}: "
        f"{meaning[mark.shape]}, {mark.word}"
        for mark in marked.between
    ]
    listed = f" {'; '.join(parts)}." if parts else ""
    spread = f"Notes lie within {heard.timing_spread_ms:.0f} ms of an even pulse."
    return f"{marked.headline} {spread}{listed}"
