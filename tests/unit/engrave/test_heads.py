"""Heads and numbers: a diamond for a harmonic, a cross for a dead note, brackets for a ghost."""

from dataclasses import replace

import pytest

from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.score.score import Score
from fretwright.score.techniques import Harmonic, HarmonicKind, Techniques
from fretwright.theory.pitch import NoteName, Pitch
from plate_reading import frets, hull, ink, step
from plate_scores import asked, written

NATURAL = Techniques(harmonic=Harmonic(HarmonicKind.NATURAL, 12))


def heads(score: Score) -> list[str]:
    """SMuFL names of the heads of a score."""
    return [each.name for each in ink(engrave(score), "notehead")]


# SMuFL 1.4 names; which head means what is common practice, no source.
def test_a_natural_harmonic_is_a_diamond_and_its_fret_in_angles() -> None:
    score = asked(written("q1/12 h.1/12 w1/12"), b1t0s1=NATURAL, b1t1_4s1=NATURAL, b2t0s1=NATURAL)
    assert heads(score) == ["noteheadDiamondBlack", "noteheadDiamondHalf", "noteheadDiamondWhite"]
    assert [number for _, number in frets(engrave(score))] == ["<12>", "<12>", "<12>"]


@pytest.mark.parametrize(("kind", "word"), [(HarmonicKind.ARTIFICIAL, "A.H."), (HarmonicKind.PINCH, "P.H.")])
def test_other_harmonics_tell_their_kind_and_both_frets(kind: HarmonicKind, word: str) -> None:
    score = asked(written("h2/5 h2/5"), b1t0s2=Techniques(harmonic=Harmonic(kind, 17, 5)))
    plate = engrave(score)
    assert frets(plate)[0] == (2, "5<17>")
    assert [(each.text, each.note) for each in ink(plate, "harmonic")] == [(word, "b1t0s2")]
    assert not overlaps(plate)


def test_a_harmonic_far_above_the_staff_is_written_lower_with_its_sign() -> None:
    high = Pitch(NoteName("E", 0), 6)
    score = asked(written("w1/12"), b1t0s1=Techniques(harmonic=Harmonic(HarmonicKind.NATURAL, 5)))
    score = score.with_notes((replace(score.notes[0], pitch=high),))
    plate = engrave(score)
    (sign,) = ink(plate, "octave")
    assert sign.name == "ottavaAlta"
    assert step(plate, ink(plate, "notehead")[0]) == 14  # E7 written as E6
    assert not ink(engrave(written("w1/24")), "octave")


def test_a_dead_note_is_a_cross_in_both_layers() -> None:
    dead = Techniques(dead=True)
    score = asked(written("q5/3 q5/3 h5/3"), b1t0s5=dead, b1t1_2s5=dead)
    assert heads(score) == ["noteheadXBlack", "noteheadBlack", "noteheadCircleX"]
    assert [number for _, number in frets(engrave(score))] == ["X", "3", "X"]


def test_a_ghost_note_stands_in_brackets() -> None:
    plate = engrave(asked(written("q3/5 q3/7 h3/5"), b1t0s3=Techniques(ghost=True)))
    left, right = ink(plate, "bracket")
    head = hull(ink(plate, "notehead")[0])
    assert hull(left).right < head.left + 0.05 < head.right - 0.05 < hull(right).left
    assert frets(plate)[0] == (3, "(5)")


def test_ghosts_of_a_chord_that_stand_close_share_their_brackets() -> None:
    ghost = Techniques(ghost=True)
    plate = engrave(asked(written("h3/5+2/5 h2/5"), b1t0s3=ghost, b1t0s2=ghost))
    assert len(ink(plate, "bracket")) == 2
    assert not overlaps(plate)


def test_a_stem_meets_its_diamond_and_its_cross() -> None:
    """A diamond has no ink above its side corner, where the stem of a round head would begin."""
    plate = engrave(asked(written("q1/12 q1/12 h5/3"), b1t0s1=NATURAL, b1t1_4s1=Techniques(dead=True)))
    heads_of, stems = ink(plate, "notehead"), ink(plate, "stem")
    for head, stem in zip(heads_of[:2], stems[:2], strict=True):
        assert hull(stem).meets(hull(head))
    assert hull(stems[0]).top == pytest.approx(
        (hull(heads_of[0]).top + hull(heads_of[0]).bottom) / 2, abs=0.02
    )


def test_tab_alone_prints_the_same_numbers() -> None:
    plate = engrave(asked(written("h1/12 h5/3"), b1t0s1=NATURAL), PlateStyle(staff=False))
    assert [number for _, number in frets(plate)] == ["<12>", "3"]
