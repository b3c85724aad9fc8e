"""What a student is shown of one judged take: the plate with verdicts, the words, and where to listen."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from fretwright.check.check import Checked
from fretwright.ear.verdicts import BendVerdict, HeardAttack, HeardNote, Hearing, Verdict, VibratoVerdict
from fretwright.engrave.heard import heard_plate
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.flows.hearing_picture import hearing_picture
from fretwright.flows.planning import bar_of
from fretwright.score.marks import MarkedScore, NoteTiming
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.timeline import TimedNote, timeline

_STYLES: Final = {"wide": PlateStyle(width_mm=170.0), "narrow": PlateStyle(width_mm=84.0)}
"""As the plates of the lesson, so that the student looks at the plate just played from."""
_BEFORE_S: Final = 0.35
"""A stretch of a take starts a little before its first note, so that the note's attack is heard."""
_AFTER_S: Final = 0.6
_OPEN: Final = "open"


@dataclass(frozen=True, slots=True)
class BarStretch:
    """One bar where it can be listened to."""

    bar: int
    take_from_s: float
    """In the recording's own time."""
    take_to_s: float
    first_note: str
    """Id of the bar's first note, and of its last: what the model plays."""
    last_note: str
    bad: int
    """How many of its notes did not come as written."""


@dataclass(frozen=True, slots=True)
class NoteRow:
    """One note in words, for the table beside the picture."""

    bar: int
    number: int
    """Its place in the bar, from 1."""
    place: str
    """``string 3, fret 7``."""
    verdict: str
    timing: str
    """``12 ms late``; empty where nothing was told."""
    cents: str
    attack: str


@dataclass(frozen=True, slots=True)
class TakeView:
    """All of it."""

    headline: str
    observations: tuple[str, ...]
    next_words: str
    """What comes next, as practice knows it."""
    wide: str
    narrow: str
    """The picture as SVG, for paper and for a phone."""
    bars: tuple[BarStretch, ...]
    """In order of time, the first time through."""
    worst_bar: int | None
    """Where most notes failed; ``None`` where none did."""
    rows: tuple[NoteRow, ...]
    start_s: float
    """When the first note came, in the recording's own time."""
    played_bpm: float
    timing_spread_ms: float
    mean_offset_ms: float


def take_view(checked: Checked, name: str, heard: Hearing, next_words: str) -> TakeView:
    """The view of a take of the exercise ``lesson/exercise``.

    ``next_words`` say what comes next in the light of all takes (:mod:`fretwright.practice.words`); the ear
    knows this one alone. Raises :class:`~fretwright.base.errors.UsageError` if the course has no such
    exercise and :class:`~fretwright.base.errors.RenderError` if the hearing is of another one.
    """
    score = checked.score_of(checked.course.exercise(name))
    # the words stand beside the picture, as text
    told = replace(heard, advice=replace(heard.advice, headline="", next_words=""))
    pictures = {
        width: hearing_picture(checked, name, told, style, id_prefix=f"heard-{width}").svg
        for width, style in _STYLES.items()
    }
    bars = bar_stretches(score, heard)
    worst = max(bars, key=lambda bar: (bar.bad, -bar.bar), default=None)
    return TakeView(
        headline=heard.advice.headline,
        observations=heard.advice.observations,
        next_words=next_words,
        wide=pictures["wide"],
        narrow=pictures["narrow"],
        bars=bars,
        worst_bar=worst.bar if worst is not None and worst.bad else None,
        rows=_rows(score, heard.notes),
        start_s=heard.start_s,
        played_bpm=heard.tempo_bpm,
        timing_spread_ms=heard.timing_spread_ms,
        mean_offset_ms=heard.mean_offset_ms,
    )


def prepare_pictures(score: Score) -> None:
    """Read fonts and glyphs and lay out a score once, so that its first take need not wait for that."""
    for style in _STYLES.values():
        heard_plate(
            engrave(score, style),
            MarkedScore("", timings=tuple(NoteTiming(note.id, 0.0, 1.0) for note in score.notes)),
            title="",
            description="",
        )


def bar_stretches(score: Score, heard: Hearing) -> tuple[BarStretch, ...]:
    """Where each bar of the pass that was described lies in the recording; repeated bars the first time only.

    A note that was not heard is put where its neighbours say it was due.
    """
    played = timeline(score, heard.tempo_bpm)
    onsets = _onsets(played.notes, heard.notes)
    if not onsets:
        return ()
    stretches: dict[int, BarStretch] = {}
    firsts = [index for index, timed in enumerate(played.notes) if timed.time_through == 1]
    groups: dict[int, list[int]] = {}
    for index in firsts:
        groups.setdefault(bar_of(played.notes[index].note.id), []).append(index)
    for bar, inside in groups.items():
        first, last = inside[0], inside[-1]
        ends_s = onsets[last] + played.notes[last].duration_s
        bad = sum(heard.notes[index].verdict in {Verdict.MISSED, Verdict.WRONG} for index in inside)
        stretches[bar] = BarStretch(
            bar,
            round(max(0.0, onsets[first] - _BEFORE_S), 3),
            round(ends_s + _AFTER_S, 3),
            played.notes[first].note.id,
            played.notes[last].note.id,
            bad,
        )
    return tuple(stretches.values())


def _onsets(asked: Sequence[TimedNote], notes: Sequence[HeardNote]) -> list[float]:
    """When each note came, or was due: between its neighbours, or in step with the nearest one heard."""
    known = [index for index, note in enumerate(notes) if note.onset_s is not None]
    if not known:
        return []
    found = [note.onset_s or 0.0 for note in notes]
    for before, after in [(known[0], known[0]), *pairwise(known), (known[-1], known[-1])]:
        for index in range(before + 1, after):
            span = asked[after].onset_s - asked[before].onset_s
            share = (asked[index].onset_s - asked[before].onset_s) / span if span else 0.0
            found[index] = found[before] + share * (found[after] - found[before])
    for index in range(known[0]):
        found[index] = found[known[0]] + asked[index].onset_s - asked[known[0]].onset_s
    for index in range(known[-1] + 1, len(notes)):
        found[index] = found[known[-1]] + asked[index].onset_s - asked[known[-1]].onset_s
    return found


def _rows(score: Score, notes: Sequence[HeardNote]) -> tuple[NoteRow, ...]:
    rows: list[NoteRow] = []
    number, last = 0, None
    for timed, heard in zip(timeline(score).notes, notes, strict=True):
        bar = bar_of(timed.note.id)
        number = number + 1 if (bar, timed.time_through) == last else 1
        last = (bar, timed.time_through)
        rows.append(
            NoteRow(
                bar,
                number,
                place_of(timed.note),
                _came(heard, timed.note),
                _late(heard.timing_ms),
                "" if heard.pitch_cents is None else f"{heard.pitch_cents:+.0f}".replace("-", "\u2212"),
                _started(timed.note, heard),
            )
        )
    return tuple(rows)


def place_of(note: Note) -> str:
    """Where a note is held, in words: ``string 3, fret 7``."""
    return f"string {note.string}, " + (f"fret {note.fret}" if note.fret else _OPEN)


def _came(heard: HeardNote, note: Note) -> str:
    words = {
        Verdict.PLAYED: "played",
        Verdict.MISSED: "not heard",
        Verdict.WRONG: "another note",
        Verdict.UNSURE: "cannot tell",
    }[heard.verdict]
    if heard.verdict is Verdict.WRONG and heard.heard_midi is not None:
        off = heard.heard_midi - note.midi
        return f"{abs(off)} {'fret' if abs(off) == 1 else 'frets'} {'higher' if off > 0 else 'lower'}"
    return f"{words}{_bent(heard)}"


def _bent(heard: HeardNote) -> str:
    """What to add where a bend missed its pitch or a vibrato is lacking."""
    if heard.bend is not None and heard.bend.verdict in {BendVerdict.SHORT, BendVerdict.SHARP}:
        return f", bend {abs(heard.bend.off_cents or 0.0):.0f} cents {heard.bend.verdict.value}"
    if heard.vibrato is not None and heard.vibrato.verdict is VibratoVerdict.STILL:
        return ", no vibrato"
    return ""


def _late(off_ms: float | None) -> str:
    if off_ms is None:
        return ""
    return "on time" if round(off_ms) == 0 else f"{abs(off_ms):.0f} ms {'late' if off_ms > 0 else 'early'}"


def _started(note: Note, heard: HeardNote) -> str:
    if heard.attack in {None, HeardAttack.UNSURE}:
        return ""
    if note.attack.is_slur and heard.attack is HeardAttack.PLUCK:
        return "plucked, written as a slur"
    if not note.attack.is_slur and heard.attack is HeardAttack.SLUR:
        return "slurred, written as a pluck"
    return "slur" if heard.attack is HeardAttack.SLUR else "pluck"
