"""Voicings for a whole chart: each chord well held, and the changes between them easy.

A chord keeps one voicing and one set of fingers through the chart, as a student learns it. The voicing is the
easiest one of its chord, which for common chords is the one that everybody knows. Where it has several usual
sets of fingers, those are taken that make the sum of two things least:

* what each set costs more than the easiest, once for every time the chord is held, and
* what the changes of the chart cost (:mod:`fretwright.fretboard.change`).

The sum is the exact minimum where there are no more than :data:`MOST_TRIED` ways to choose; otherwise one
chord after the other is improved until none can be.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise, product
from math import prod
from typing import Final

from fretwright.fretboard.change import change
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.voicing import Voicing
from fretwright.fretboard.voicings import voicings
from fretwright.theory.chord import Chord

MOST_TRIED: Final = 4096
_NEAR_POSITION: Final = 24
"""So many voicings are looked through for one near a position."""
_USUAL_WITHIN_MM: Final = 3.6
"""Fingers that cost no more than this above the easiest, and lay no more fingers flat, are usual: 210003 and
320004 of G, 023000 and 012000 of E minor; not those that only put a weaker finger in place of a stronger."""


def chart_voicings(
    chords: Sequence[Chord],
    neck: Neck,
    *,
    fixed: Mapping[Chord, Voicing] | None = None,
    position: int | None = None,
) -> dict[Chord, Voicing]:
    """A voicing for each chord of a chart, which goes through ``chords`` in order.

    ``fixed`` are the teacher's, whose fingers too are kept; with ``position`` voicings near that fret are
    taken in place of easier ones elsewhere.
    Raises :class:`~fretwright.base.errors.UnplayableError` for a chord that cannot be held on the neck.
    """
    known = fixed or {}
    distinct = tuple(dict.fromkeys(chords))
    choices = [(known[chord],) if chord in known else usual(chord, neck, position) for chord in distinct]
    index = {chord: number for number, chord in enumerate(distinct)}
    held = Counter(index[chord] for chord in chords)
    changes = Counter((index[a], index[b]) for a, b in pairwise(chords) if a != b)
    search = _Search(choices, held, changes)
    picked = search.exact() if prod(map(len, choices)) <= MOST_TRIED else search.improved()
    return {chord: choices[number][picked[number]] for number, chord in enumerate(distinct)}


def usual(chord: Chord, neck: Neck, position: int | None = None) -> tuple[Voicing, ...]:
    """The voicing of a chord that is taken, with each of its usual sets of fingers, the easiest first.

    Raises :class:`~fretwright.base.errors.UnplayableError` where there is none.
    """
    if position is None:
        voicing = voicings(chord, neck, count=1)[0]
    else:
        many = voicings(chord, neck, count=_NEAR_POSITION)
        voicing = min(many, key=lambda one: abs(one.position - position))
    grips = (voicing.grip, *voicing.alternatives)
    return tuple(
        replace(voicing, grip=grip, alternatives=(*grips[:nth], *grips[nth + 1 :]))
        for nth, grip in enumerate(grips)
        if grip.ease.total <= grips[0].ease.total + _USUAL_WITHIN_MM
        and len(grip.barres) <= len(grips[0].barres)
    )


class _Search:
    """The sum that is made small, and two ways to do it; a choice is an index for each chord."""

    def __init__(
        self, choices: Sequence[Sequence[Voicing]], held: Counter[int], changes: Counter[tuple[int, int]]
    ) -> None:
        self._choices = choices
        self._own = [
            [held[number] * self._dearer(options, option) for option in options]
            for number, options in enumerate(choices)
        ]
        self._between = {
            (a, b): [
                [times * change(before, after).cost.total for after in choices[b]] for before in choices[a]
            ]
            for (a, b), times in sorted(changes.items())
        }

    @staticmethod
    def _dearer(options: Sequence[Voicing], option: Voicing) -> float:
        return option.ease.total - min(other.ease.total for other in options)

    def _sum(self, picked: Sequence[int]) -> float:
        own = sum(costs[pick] for costs, pick in zip(self._own, picked, strict=True))
        return own + sum(table[picked[a]][picked[b]] for (a, b), table in self._between.items())

    def exact(self) -> tuple[int, ...]:
        """The least sum of all."""
        every = product(*(range(len(options)) for options in self._choices))
        return min(every, key=lambda picked: (round(self._sum(picked), 6), picked))

    def improved(self) -> tuple[int, ...]:
        """A choice that no other voicing of a single chord would make better."""
        picked = [0] * len(self._choices)
        while True:
            before = tuple(picked)
            for number, options in enumerate(self._choices):
                picked[number] = min(
                    range(len(options)),
                    key=lambda pick, number=number: (  # type: ignore[misc]  # bound now, on purpose
                        round(self._sum([*picked[:number], pick, *picked[number + 1 :]]), 6),
                        pick,
                    ),
                )
            if tuple(picked) == before:
                return before
