"""Exercises for other programs, and theirs as exercises: MusicXML and MIDI."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Final

from fretwright.base.errors import ExchangeError, ScoreError, UsageError
from fretwright.base.findings import Finding, Severity
from fretwright.base.spans import Span
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.course.tabtext import write_exercise
from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.imported import Imported
from fretwright.exchange.midi_in import read_midi
from fretwright.exchange.midi_out import MidiOptions, write_midi
from fretwright.exchange.musicxml_in import read_musicxml
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.exchange.xmltree import MOST_BYTES
from fretwright.flows.digests import digest, digest_of_score
from fretwright.publish.material import Download
from fretwright.score.score import LabelKind, Score, Writing
from fretwright.score.tempo import SLOWEST_BPM, Ladder
from fretwright.score.values import TRIPLET

MUSICXML_SUFFIXES: Final = (".musicxml", ".xml", ".mxl")
MIDI_SUFFIXES: Final = (".mid", ".midi")
_MIDI_START: Final = b"MThd"
_FIRST_RUNG: Final = 0.6
"""Share of a piece's tempo at which practice starts (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class ExportOptions:
    """How an exercise is written for another program."""

    bpm: float | None = None
    """Tempo at its start; the first rung of its ladder by default."""
    tab_staff: bool = False
    """MusicXML: a tab under the staff, which repeats its notes."""
    track_per_string: bool = False
    """MIDI: a track and a channel for each string."""
    note_ids: bool = False
    """MIDI: the id of each note as text before it."""


def export(checked: Checked, name: str, suffix: str, options: ExportOptions) -> bytes:
    """An exercise, ``lesson/exercise``, as the content of a file with that ending.

    Raises :class:`~fretwright.base.errors.UsageError` for an unknown exercise or ending.
    """
    score = checked.score_of(checked.course.exercise(name))
    if options.bpm is not None:
        score = replace(score, tempo=score.tempo.at_start(options.bpm))
    if suffix.lower() in MIDI_SUFFIXES:
        midi = MidiOptions(track_per_string=options.track_per_string, note_ids=options.note_ids)
        return write_midi(score, midi)
    if suffix.lower() in MUSICXML_SUFFIXES[:2]:
        return write_musicxml(score, tab_staff=options.tab_staff)
    raise UsageError(f"There is no kind of file that ends in {suffix!r}.", "Write .musicxml or .mid.")


@dataclass(frozen=True, slots=True)
class ExchangeJob:
    """One exercise as files to take home; travels to another process."""

    lesson: str
    exercise: str
    score: Score

    @classmethod
    def of(cls, exercise: Exercise, score: Score) -> "ExchangeJob":
        """The job of an exercise with its fingered score."""
        return cls(exercise.lesson, exercise.id, score)

    @property
    def key(self) -> str:
        """Digest of all that is written."""
        return digest(self.exercise, digest_of_score(self.score))

    @property
    def paths(self) -> tuple[str, ...]:
        """The files that are made."""
        stem = f"scores/{self.lesson}/{self.exercise}"
        return (f"{stem}.musicxml", f"{stem}.mid")

    @property
    def downloads(self) -> tuple[Download, ...]:
        """The files as a page offers them."""
        labels = ("For a notation program (MusicXML)", "For a sequencer (MIDI)")
        return tuple(Download(label, path) for label, path in zip(labels, self.paths, strict=True))

    def make(self) -> dict[str, bytes]:
        """Write the files: path -> content."""
        return dict(zip(self.paths, (write_musicxml(self.score), write_midi(self.score)), strict=True))


@dataclass(frozen=True, slots=True)
class Adopted:
    """What came of reading another program's file."""

    text: str
    """An exercise block that can stand in a lesson; empty where course text cannot hold the piece."""
    findings: tuple[Finding, ...]


def read_file(path: Path, options: ReadOptions | None = None) -> Imported:
    """The score in a MusicXML or MIDI file; what is in the file decides, not its name.

    Raises :class:`~fretwright.base.errors.ExchangeError` where it cannot be read.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise ExchangeError(f"{path} is larger than any score.", "Export a shorter piece.")
        data = path.read_bytes()
    except OSError as error:
        raise ExchangeError(
            f"{path} cannot be read: {error.strerror}.", "Name a file that is there."
        ) from error
    read = read_midi if data.startswith(_MIDI_START) else read_musicxml
    return read(data, path.name, options)


def adopt(path: Path, options: ReadOptions | None = None) -> Adopted:
    """Another program's file as an exercise block, with what could not be carried over as findings.

    The ladder climbs from three fifths of the file's tempo to the whole of it. Raises as
    :func:`read_file`.
    """
    found = read_file(path, replace(options or ReadOptions(), one_row=True))
    score = found.score
    span = Span(path.name, 1, 1, score.title)
    unheld = tuple(_beyond_text(score, span))
    findings = found.findings + unheld
    if any(finding.is_error for finding in unheld):
        return Adopted("", findings)
    try:
        is_chart = score.writing is Writing.SLASHES
        return Adopted(write_exercise(score, _ladder(score), is_chart=is_chart), findings)
    except ScoreError as error:
        message = f"{error.message[:1].upper()}{error.message[1:]}."
        return Adopted(
            "", (*findings, Finding("text-cannot-hold", Severity.ERROR, span, message, _SOME_BARS))
        )


_SOME_BARS: Final = "Take a part of it with --bars, such as --bars 1-8."


def _ladder(score: Score) -> Ladder:
    goal = score.tempo.bpm
    return Ladder(max(SLOWEST_BPM, min(goal, float(round(goal * _FIRST_RUNG)))), goal)


def _beyond_text(score: Score, span: Span) -> Iterator[Finding]:
    """What a score holds and an exercise block has no words for."""
    meters = {bar.meter for bar in score.bars}
    if len(meters) > 1:
        changed = next(bar for bar in score.bars if bar.meter != score.bars[0].meter)
        message = f"The time signature changes in bar {changed.number}, and an exercise has one."
        yield Finding("text-cannot-hold", Severity.ERROR, span, message, _SOME_BARS)
    values = [value for note in score.notes for value in note.values]
    values += [rest.value for rest in score.rests]
    odd = next((value for value in values if value.tuplet not in {None, TRIPLET}), None)
    if odd is not None and odd.tuplet is not None:
        message = (
            f"There are {odd.tuplet.actual} notes in the time of {odd.tuplet.normal}; text has triplets only."
        )
        yield Finding("text-cannot-hold", Severity.ERROR, span, message, _SOME_BARS)
    if len(score.tempo.marks) > 1:
        message = "The tempo changes, and an exercise has one; that of the start was taken."
        yield Finding("tempo-changes", Severity.WARNING, span, message, "Say in words where it changes.")
    lost = _labels_lost(score)
    if lost:
        message = f'Words that stand where an exercise has no room for them were left out: "{lost[0]}".'
        yield Finding("words-left-out", Severity.ADVICE, span, message, "Add them as a remark.")


def _labels_lost(score: Score) -> list[str]:
    """Words that have no place in a block.

    They stand inside a bar, as chord names off the beat, as sung words on no note, or second in one place.
    """
    kept: set[tuple[Fraction, LabelKind, int]] = set()
    lost: list[str] = []
    onsets = {note.onset for note in score.notes if note.voice == 1}
    for label in score.labels:
        bar = score.bar_at(label.at)
        offset = label.at - bar.start
        grid = bar.meter.beat if label.kind is LabelKind.CHORD else bar.length
        place = (label.at, label.kind, label.verse)
        has_room = label.at in onsets if label.kind is LabelKind.LYRIC else not offset % grid
        if not has_room or place in kept:
            lost.append(label.text)
        kept.add(place)
    return lost
