"""Scores for tests of files: everything that a file can hold, made by hand or by chance."""

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from fretwright.fretboard.neck import Neck
from fretwright.fretboard.tuning import Tuning
from fretwright.score.meter import Meter
from fretwright.score.note import Finger
from fretwright.score.score import Label, LabelKind, Score
from fretwright.score.swing import Swing
from fretwright.score.tempo import TempoMap, TempoMark
from fretwright.theory.scale import Scale
from plate_scores import chord_name, wandering, words, written


def chance_scores() -> st.SearchStrategy[Score]:
    """Lines, chords, slurs, slides, tuplets, ties, repeats with endings, labels, in many meters and keys."""
    found = st.integers(0, 100_000).map(lambda seed: wandering(seed)[0])
    return found.filter(lambda score: bool(score.notes))


def unrepeated(score: Score) -> Score:
    """The score without its repeats, for readers whose notes are counted once."""
    bars = (replace(bar, opens_repeat=False, closes_repeat=0, endings=()) for bar in score.bars)
    return replace(score, bars=tuple(bars))


def bare(score: Score) -> Score:
    """The score without where it was read from, and with chord names as files spell them."""
    return replace(
        score,
        notes=tuple(replace(note, source=None) for note in score.notes),
        rests=tuple(replace(rest, source=None) for rest in score.rests),
        labels=tuple(replace(label, text=label.text.replace("♯", "#")) for label in score.labels),
    )


def has_unisons(score: Score) -> bool:
    """Whether two strings ever sound one pitch at once: other programs count such notes in their own way."""
    return any(
        one.midi == other.midi and one.onset < other.end and other.onset < one.end and one.id != other.id
        for one in score.notes
        for other in score.notes
    )


def plain() -> Score:
    """Eight eighths in C with a hammer-on and a pull-off."""
    return written("e6/5 e6/8h e5/5 e5/7h e5/5p e4/5 e4/7 e4/5", strokes=True)


def rich() -> Score:
    """Nearly everything at once: capo, drop D, pickup, endings, triplets, ties, taps, thumb, swing, words."""
    neck = Neck(Tuning.parse("drop D"), scale_length_mm=630.5, frets=24, capo=2)
    score = written(
        "e3/2 e3/4h q2/3 ex2/5h ex2/3p ex3/6s q1/0+2/1+3/2 q3/4 h~3/4 q1/12t qr q5/2 q4/2 q.6/5",
        key="F# minor",
        pickup=Fraction(1, 4),
        neck=neck,
        labels=[
            chord_name(Fraction(1, 4), "F#m7b5"),
            chord_name(Fraction(3, 4), "D/F#"),
            chord_name(Fraction(5, 4), "N.C."),
            words(Fraction(1, 4), "let it ring <& hold>"),
        ],
        bars={1: {"opens_repeat": True}, 2: {"closes_repeat": 3, "endings": (1, 2)}, 3: {"endings": (3,)}},
        strokes=True,
    )
    thumb = replace(score.notes[-1], finger=Finger.THUMB)
    return replace(
        score,
        title="Ferry \u201cnight\u201d & day",
        notes=(*score.notes[:-1], thumb),
        swing=Swing(Fraction(2, 3)),
        scale=Scale.parse("F# minor pentatonic"),
        position=2,
        tempo=TempoMap(
            (
                TempoMark(Fraction(0), 72.5, Fraction(1, 4)),
                TempoMark(Fraction(5, 4), 96.0, Fraction(1, 4)),
            )
        ),
    )


def of_tuning(name: str) -> Score:
    """A quarter on every open string of a tuning, from the lowest up."""
    tuning = Tuning.parse(name)
    text = " ".join(f"q{string}/0" for string in reversed(tuning.strings))
    return written(text, neck=Neck(tuning), meter=Meter(tuning.string_count, 4))


def label(at: Fraction, text: str) -> Label:
    """Words over a moment."""
    return Label(at, text, LabelKind.TEXT)
