"""Hypothesis strategies, one per kind of value, for every layer's property tests.

Import them as ``from strategies import scales``. A strategy makes only values that the layer calls
valid; tests of mistakes write their mistakes out.
"""

from hypothesis import strategies as st

import technique_strategies
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS, Tuning
from fretwright.score.meter import Meter
from fretwright.score.values import BASES, TRIPLET, Value
from fretwright.theory.chord import Chord
from fretwright.theory.chord_symbol import COMMON_SYMBOLS
from fretwright.theory.interval import Interval
from fretwright.theory.key import MAX_ACCIDENTALS, Key
from fretwright.theory.pitch import LETTERS, NoteName, Pitch
from fretwright.theory.scale import SCALE_KINDS, Scale, ScaleKind, scale_kind

# theory ------------------------------------------------------------


def note_names(max_alter: int = 2) -> st.SearchStrategy[NoteName]:
    """Spelled pitch classes with up to ``max_alter`` sharps or flats."""
    return st.builds(NoteName, st.sampled_from(LETTERS), st.integers(-max_alter, max_alter))


def pitches(low_octave: int = 0, high_octave: int = 7, max_alter: int = 2) -> st.SearchStrategy[Pitch]:
    """Spelled sounding pitches."""
    return st.builds(Pitch, note_names(max_alter), st.integers(low_octave, high_octave))


def intervals(max_steps: int = 14) -> st.SearchStrategy[Interval]:
    """Intervals up and down, up to doubly augmented or diminished."""
    rising = st.builds(
        lambda steps, alter: Interval(steps, Interval.of_degree(str(steps + 1)).semitones + alter),
        st.integers(0, max_steps),
        st.integers(-2, 2),
    )
    return rising | rising.map(lambda interval: -interval)


def scale_kinds() -> st.SearchStrategy[ScaleKind]:
    """Named kinds, and kinds of a teacher's own degrees."""
    chromatic = SCALE_KINDS["chromatic"].degrees
    own = st.sets(st.sampled_from(chromatic[1:]), min_size=2, max_size=7).map(
        lambda chosen: scale_kind(" ".join(["1", *(degree.degree for degree in sorted(chosen))]))
    )
    return st.sampled_from(list(SCALE_KINDS.values())) | own


def scales(max_alter: int = 1) -> st.SearchStrategy[Scale]:
    """Scales of any kind on any of the 21 usual tonics."""
    return st.builds(Scale, note_names(max_alter), scale_kinds())


def keys() -> st.SearchStrategy[Key]:
    """Keys with up to seven sharps or flats, major and minor."""
    return st.builds(Key, st.integers(-MAX_ACCIDENTALS, MAX_ACCIDENTALS), st.booleans())


# fretboard ------------------------------------------------------------


def tunings() -> st.SearchStrategy[Tuning]:
    """Named tunings, and tunings of 4 to 9 strings in any order of height."""
    own = st.lists(pitches(1, 4, max_alter=1), min_size=4, max_size=9).map(Tuning.of_pitches)
    return st.sampled_from(list(TUNINGS.values())) | own


def necks() -> st.SearchStrategy[Neck]:
    """Necks of usual measures, with and without a capo."""
    return st.builds(
        Neck,
        tunings(),
        st.floats(330.0, 900.0),
        st.integers(12, 24),
        st.integers(0, 7),
    )


@st.composite
def places_on(draw: st.DrawFn, neck: Neck) -> Place:
    """A place that a given neck holds."""
    return Place(draw(st.sampled_from(neck.tuning.strings)), draw(st.integers(0, neck.last_fret)))


# score ------------------------------------------------------------


def values(smallest: int = 32) -> st.SearchStrategy[Value]:
    """Written values down to one ``smallest``-th, plain, dotted and in triplets."""
    bases = [base for base in BASES if base.denominator <= smallest]
    return st.builds(Value, st.sampled_from(bases), st.integers(0, 1)) | st.builds(
        lambda base: Value(base, 0, TRIPLET), st.sampled_from(bases)
    )


def meters() -> st.SearchStrategy[Meter]:
    """Usual time signatures, simple, compound and uneven."""
    usual = [(4, 4), (3, 4), (2, 4), (2, 2), (6, 8), (9, 8), (12, 8), (3, 8), (5, 4), (7, 8)]
    return st.sampled_from([Meter(*figures) for figures in usual])


# chords ------------------------------------------------------------


def chords(max_alter: int = 1) -> st.SearchStrategy[Chord]:
    """Chords of every common kind on the 21 usual roots, some with another note in the bass."""
    plain = st.builds(Chord.of, note_names(max_alter), st.sampled_from(COMMON_SYMBOLS))
    over = st.builds(lambda chord, bass: Chord(chord.root, chord.quality, bass), plain, note_names(max_alter))
    return plain | over


# techniques ------------------------------------------------------------

bends = technique_strategies.bends
technique_scores = technique_strategies.technique_scores
