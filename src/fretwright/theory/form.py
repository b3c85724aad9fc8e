"""Forms: rows of chords that have a name, such as the twelve-bar blues, in any key.

    form_named("quick change").chords_in(Key.parse("A major"))   ->   A7 | D7 | A7 | A7 | ...

Chords are written as degrees of the major scale on the tonic and a kind, so that one row serves every key.
All rows are common practice, no source.
"""

import re
from dataclasses import dataclass
from typing import Final

from fretwright.base.errors import NotationError
from fretwright.theory.chord import Chord
from fretwright.theory.interval import Interval
from fretwright.theory.pitch import NoteName

_DEGREE = re.compile(r"(?P<degree>[#b]?[1-7])(?P<symbol>.*)")


@dataclass(frozen=True, slots=True)
class Form:
    """A named row of chords."""

    name: str
    about: str
    """What marks it, in one sentence."""
    bars: tuple[tuple[str, ...], ...]
    """For each bar its chords, which divide it evenly: a degree, a colon-free kind (``17``, ``4m7``)."""
    aliases: tuple[str, ...] = ()

    def chords_on(self, tonic: NoteName) -> tuple[tuple[Chord, ...], ...]:
        """The chords of each bar in the key of a tonic."""
        return tuple(tuple(_chord(text, tonic) for text in bar) for bar in self.bars)


def _chord(text: str, tonic: NoteName) -> Chord:
    match = _DEGREE.fullmatch(text)
    if match is None:
        raise NotationError(f'"{text}" is no chord of a form.')
    return Chord.of(tonic.transposed(Interval.of_degree(match["degree"])), match["symbol"])


def _form(name: str, about: str, rows: str, *aliases: str) -> Form:
    bars = tuple(tuple(bar.split()) for row in rows.splitlines() for bar in row.split("|") if bar.strip())
    return Form(name, about, bars, aliases)


FORMS: Final = (
    _form(
        "twelve-bar blues",
        "Four bars on the first chord, then the fourth, and the fifth only in bars nine and ten.",
        """17 | 17 | 17 | 17
        47 | 47 | 17 | 17
        57 | 47 | 17 | 57""",
        "12-bar blues", "twelve bar", "slow change",
    ),
    _form(
        "quick-change blues",
        "A twelve-bar blues that goes to the fourth chord as early as the second bar.",
        """17 | 47 | 17 | 17
        47 | 47 | 17 | 17
        57 | 47 | 17 | 57""",
        "quick change",
    ),
    _form(
        "minor blues",
        "Twelve bars in minor; the flat sixth leads into the fifth chord.",
        """1m7 | 1m7 | 1m7 | 1m7
        4m7 | 4m7 | 1m7 | 1m7
        b67 | 57 | 1m7 | 57""",
        "twelve-bar minor blues",
    ),
    _form(
        "minor quick-change blues",
        "The minor blues with the fourth chord in the second bar.",
        """1m7 | 4m7 | 1m7 | 1m7
        4m7 | 4m7 | 1m7 | 1m7
        b67 | 57 | 1m7 | 57""",
    ),
    _form(
        "eight-bar blues",
        "The fifth chord comes in the second bar already, and the form is over after eight.",
        """17 | 57 | 47 | 47
        17 | 57 | 17 47 | 17 57""",
    ),
    _form(
        "sixteen-bar blues",
        "A twelve-bar blues whose step from the fifth chord to the fourth is taken three times.",
        """17 | 17 | 17 | 17
        47 | 47 | 17 | 17
        57 | 47 | 57 | 47
        57 | 47 | 17 | 57""",
    ),
    _form(
        "turnaround blues",
        "A quick-change blues that ends with a chord on every second beat to lead back.",
        """17 | 47 | 17 | 17
        47 | 47 | 17 | 67
        2m7 | 57 | 17 67 | 2m7 57""",
        "jazz blues",
    ),
    _form("one-four-five", "The three chords that most songs start from.", "1 | 4 | 5 | 1", "three chords"),
    _form("doo-wop turn", "First, sixth, fourth and fifth chord, round and round.", "1 | 6m | 4 | 5"),
    _form("two-five-one", "The way home by fifths.", "2m7 | 57 | 1maj7 | 1maj7"),
    _form("minor two-five-one", "The same way home in minor.", "2m7b5 | 57 | 1m7 | 1m7"),
    _form(
        "falling minor",
        "From a minor chord down to its fifth, step by step.",
        "1m | b7 | b6 | 5",
    ),
)  # fmt: skip
"""Every form that has a name here."""


def _folded(name: str) -> str:
    plain = name.lower().replace("12", "twelve").replace("16", "sixteen").replace("8", "eight")
    return re.sub(r"[^a-z]+", " ", plain).strip()


_BY_NAME: Final = {
    folded: form
    for form in FORMS
    for name in (form.name, *form.aliases)
    for folded in (_folded(name), _folded(name).removesuffix(" blues"))
}
FORM_NAMES: Final = tuple(form.name for form in FORMS)


def form_named(text: str) -> Form:
    """The form of a name; spaces and hyphens don't matter, nor figures for number words.

    Raises :class:`NotationError` where no form has the name.
    """
    folded = _folded(text)
    form = _BY_NAME.get(folded) or _BY_NAME.get(folded.removeprefix("a ").removesuffix(" blues"))
    if form is None:
        raise NotationError(f'"{text.strip()[:40]}" is no form with a name.', f"Use {', '.join(FORM_NAMES)}.")
    return form
