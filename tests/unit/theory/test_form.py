"""Forms by name: their chords in every key."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.base.errors import NotationError
from fretwright.theory.chord import Chord
from fretwright.theory.form import FORM_NAMES, FORMS, Form, form_named
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName

TONICS = ("C", "G", "D", "A", "E", "B", "F#", "Db", "Ab", "Eb", "Bb", "F")


def chords(name: str, tonic: str) -> str:
    bars = form_named(name).chords_on(NoteName.parse(tonic))
    return " | ".join(" ".join(map(str, bar)) for bar in bars)


@pytest.mark.parametrize(
    ("name", "tonic", "bars"),
    [
        ("twelve-bar blues", "A", "A7 | A7 | A7 | A7 | D7 | D7 | A7 | A7 | E7 | D7 | A7 | E7"),
        ("quick change", "E", "E7 | A7 | E7 | E7 | A7 | A7 | E7 | E7 | B7 | A7 | E7 | B7"),
        ("minor blues", "A", "Am7 | Am7 | Am7 | Am7 | Dm7 | Dm7 | Am7 | Am7 | F7 | E7 | Am7 | E7"),
        ("eight-bar blues", "G", "G7 | D7 | C7 | C7 | G7 | D7 | G7 C7 | G7 D7"),
        ("two-five-one", "C", "Dm7 | G7 | Cmaj7 | Cmaj7"),
        ("falling minor", "A", "Am | G | F | E"),
    ],
)
def test_forms_as_books_print_them(name: str, tonic: str, bars: str) -> None:
    """Common practice, no source."""
    assert chords(name, tonic) == bars


@pytest.mark.parametrize(
    ("written", "name"),
    [("12-bar blues", "twelve-bar blues"), ("Twelve Bar", "twelve-bar blues"),
     ("16-bar", "sixteen-bar blues"),
     ("8 bar blues", "eight-bar blues"), ("quick-change blues", "quick-change blues"),
     ("a minor blues", "minor blues")],
)  # fmt: skip
def test_names_as_teachers_write_them(written: str, name: str) -> None:
    assert form_named(written).name == name


def test_a_form_that_has_no_name() -> None:
    with pytest.raises(NotationError, match="no form") as caught:
        form_named("thirteen-bar blues")
    assert all(name in caught.value.mend for name in FORM_NAMES)


@given(st.sampled_from(FORMS), st.sampled_from(TONICS), st.sampled_from(["m2", "M2", "m3", "P4", "P5"]))
def test_a_form_moves_with_its_key(form: Form, tonic: str, step: str) -> None:
    low = NoteName.parse(tonic)
    high = low.transposed(Interval.parse(step))
    moved = [[chord.transposed(Interval.parse(step)) for chord in bar] for bar in form.chords_on(low)]
    assert [list(bar) for bar in form.chords_on(high)] == moved


@given(st.sampled_from(FORMS))
def test_every_form_starts_at_home_or_leads_there(form: Form) -> None:
    roots = [chord.root for bar in form.chords_on(NoteName.parse("C")) for chord in bar]
    assert NoteName.parse("C") in roots
    assert len(form.bars) in {4, 8, 12, 16}
    assert all(Chord.parse(str(chord)) == chord for bar in form.chords_on(roots[0]) for chord in bar)
