"""A tuning block as pages and handouts show it: pegs, the ways of tuning in words, tones to tune by."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from fretwright.course.model import TuningBlock, TuningWay
from fretwright.engrave.diagram import Diagram
from fretwright.engrave.pegs import PegSide, order_words, peg_diagram
from fretwright.engrave.tuning_words import (
    BEATS,
    fret_step_words,
    harmonic_step_words,
    harmonics_caution,
    left_out_words,
    reference_words,
)
from fretwright.fretboard.tuning_steps import TuningStep, steps_by_frets, steps_by_harmonics
from fretwright.publish.chords import other_hand

TONE_SUFFIX: Final = ".m4a"
_HEADINGS: Final = {
    TuningWay.TONES: "Reference tones",
    TuningWay.FRETS: "By frets, string after string",
    TuningWay.HARMONICS: "By harmonics",
}
OUT_OF_TUNE_CENTS: Final = -12.0
"""How far the string is off in the sounds that let beats be heard: about one beat a second on an A string."""


@dataclass(frozen=True, slots=True)
class Tone:
    """One sound to tune by."""

    path: str
    """Where it lies in the output folder."""
    label: str
    string: int
    step: TuningStep | None = None
    """Which two strings sound together; None for an open string alone."""
    off_cents: float = 0.0
    """How far the string that is tuned is from equal temperament in it."""


@dataclass(frozen=True, slots=True)
class Taught:
    """One step in words, with what sounds for it."""

    words: str
    tones: tuple[Tone, ...]


@dataclass(frozen=True, slots=True)
class WayTaught:
    """One way of tuning."""

    heading: str
    before: str
    """What is said before the steps; may be empty."""
    steps: tuple[Taught, ...]
    after: str
    """What is said after them; may be empty."""


@dataclass(frozen=True, slots=True)
class TuningTaught:
    """A whole tuning block."""

    title: str
    order: str
    pegs: Diagram
    mirrored: Diagram
    """For an instrument strung for the other hand."""
    other_hand: str
    """Which hand that is: ``left`` or ``right``."""
    ways: tuple[WayTaught, ...]


def tuning_taught(block: TuningBlock) -> TuningTaught:
    """Everything that a tuning block says, shows and sounds."""
    side = PegSide.ROW if block.pegs_in_a_row else PegSide.BOTH
    prefix = f"pegs-{block.id}"
    return TuningTaught(
        title=block.title,
        order=order_words(block.tuning),
        pegs=peg_diagram(block.tuning, side, left_handed=block.left_handed, id_prefix=prefix),
        mirrored=peg_diagram(
            block.tuning, side, left_handed=not block.left_handed, id_prefix=f"{prefix}-mirrored"
        ),
        other_hand=other_hand(is_left=block.left_handed),
        ways=tuple(_taught(block, way) for way in block.ways),
    )


def tones_of(block: TuningBlock) -> tuple[Tone, ...]:
    """Every sound of a tuning block."""
    return tuple(tone for way in block.ways for step in _taught(block, way).steps for tone in step.tones)


def _taught(block: TuningBlock, way: TuningWay) -> WayTaught:
    heading = _HEADINGS[way]
    if way is TuningWay.TONES:
        before = "Turn each peg until the string sounds like its tone."
        return WayTaught(heading, before, tuple(_open_strings(block)), "")
    # What beats are is said once, before the first way that needs them.
    is_first = next(each for each in block.ways if each is not TuningWay.TONES) is way
    before = f"{_first_words(block)} {BEATS}" if is_first else _first_words(block)
    if way is TuningWay.FRETS:
        return WayTaught(heading, before, tuple(_by_frets(block)), "")
    after = " ".join(filter(None, (left_out_words(block.tuning), harmonics_caution(block.tuning))))
    return WayTaught(heading, before, tuple(_by_harmonics(block)), after)


def _first_words(block: TuningBlock) -> str:
    name = block.tuning.open_pitch(block.tuning.string_count).name.spoken
    tone = f"Tune the thickest string to its reference tone, {name}"
    return f"{tone}, or leave it where it is and tune the others to it."


def _open_strings(block: TuningBlock) -> Iterator[Taught]:
    for string in reversed(block.tuning.strings):
        pitch = block.tuning.open_pitch(string)
        tone = Tone(_path(block, f"string-{string}"), f"String {string}, {pitch.name.pretty}", string)
        yield Taught(f"{reference_words(pitch, string)}.", (tone,))


def _by_frets(block: TuningBlock) -> Iterator[Taught]:
    for step in steps_by_frets(block.tuning):
        stem = f"frets-{step.string}"
        tones = (
            Tone(_path(block, f"{stem}-off"), "Out of tune: it beats", step.string, step, OUT_OF_TUNE_CENTS),
            Tone(_path(block, stem), "In tune", step.string, step),
        )
        yield Taught(fret_step_words(step), tones)


def _by_harmonics(block: TuningBlock) -> Iterator[Taught]:
    for step in steps_by_harmonics(block.tuning):
        stem = f"harmonics-{step.string}"
        slow = f"As the frets want it: one beat in {1 / step.beats_per_s:.1f} s"
        cents = f"{abs(step.off_cents):.2f} cents {'flat' if step.off_cents < 0 else 'sharp'}"
        tones = (
            Tone(_path(block, stem), slow, step.string, step),
            Tone(_path(block, f"{stem}-still"), f"Without beats: {cents}", step.string, step, step.off_cents),
        )
        yield Taught(harmonic_step_words(step), tones)


def _path(block: TuningBlock, stem: str) -> str:
    return f"sounds/{block.lesson}/{block.id}-{stem}{TONE_SUFFIX}"
