"""Plates that show what engraving has to cope with: one of each difficulty, for pictures to be kept of."""

from fractions import Fraction
from typing import Final

from fretwright.engrave.style import PlateStyle
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from plate_gallery_signs import SIGNS
from plate_scores import chord_name, words, written

_UP = "e6/5=1 e6/8=4 e5/5=1 e5/7=3 e4/5=1 e4/7=3 e3/5=1 e3/7=3 e2/5=1 e2/8=4 e1/5=1 e1/8=4"
_DOWN = "e1/5=1 e2/8=4 e2/5=1 e3/7=3 e3/5=1 e4/7=3 e4/5=1 e5/7=3 e5/5=1 e6/8=4 q6/5=1"
_HAMMERED = (
    "e6/5=1 e6/8h=4 e5/5=1 e5/7h=3 e4/5=1 e4/7h=3 e3/5=1 e3/7h=3 "
    "s2/5=1 s2/8h=4 s1/5=1 s1/8h=4 s1/5p=1 s2/8=4 s2/5p=1 s3/7=3 q3/5=1 q3/9s=4"
)

GALLERY: Final[dict[str, tuple[Score, PlateStyle]]] = {
    **SIGNS,
    "pentatonic": (written(f"{_UP} {_DOWN}", key="A minor", strokes=True), PlateStyle()),
    "hammered": (
        written(
            _HAMMERED,
            key="A minor",
            strokes=True,
            labels=[
                chord_name(Fraction(0), "Am7"),
                chord_name(Fraction(1), "D"),
                words(Fraction(0), "let it ring"),
            ],
        ),
        PlateStyle(),
    ),
    "phone": (written(f"{_UP} {_DOWN}", key="A minor", strokes=True), PlateStyle(width_mm=84)),
    "alone": (
        written("q.6/3 e5/0 s5/2 s4/0 e4/2 q3/0 ex3/2 ex2/0 ex2/1 q2/3 er e1/0 h1/3 h1/5", key="G major"),
        PlateStyle(staff=False),
    ),
    "tied": (
        written(
            "h3/2 q.3/4 e2/2 q2/3 h.2/5 h1/2 q1/3 q1/5 q1/7 e1/5 q1/3 e1/2 h1/2 w2/3 h2/2", key="D major"
        ),
        PlateStyle(width_mm=120),
    ),
    "sharps": (
        written("e5/4 e4/1 e4/3 e4/4 e3/1 e3/3 e2/1 e2/2 e1/7 e1/8 e1/10 e1/12 q1/14 q1/15", key="C# major"),
        PlateStyle(),
    ),
    "repeated": (
        written(
            "q5/3 q4/0 h4/2 q4/3 e3/0 e3/2 h2/0 h2/1 h1/0 w1/1",
            bars={
                0: {"opens_repeat": True},
                2: {"closes_repeat": 2, "endings": (1,)},
                3: {"endings": (2,)},
            },
        ),
        PlateStyle(),
    ),
    "compound": (
        written(
            "e5/0 e4/2 e3/2 e2/2 e3/2 e4/2 q5/0 e4/2 e.3/2 s2/2 e1/0 q.2/2 q.1/0",
            key="A major",
            meter=Meter(6, 8),
        ),
        PlateStyle(),
    ),
    "chords": (
        written("q5/3+4/2+3/0+2/1+1/0 q6/3+5/2+4/0+3/0+2/0+1/3 e3/5+2/5 e3/7+2/8 q4/4+3/3", key="C major"),
        PlateStyle(),
    ),
}
"""Name to score and style."""
