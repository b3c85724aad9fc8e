"""How fast 1,000 notes are fingered, beside a general shortest-path solver on the same graph.

The reference is scipy's compiled Dijkstra (scipy.sparse.csgraph): it is given the finished graph, every
grip of every note a node and every step an edge with its cost, and has only to solve it. Ours is timed
twice: the same search alone, from the same finished tables, and all that `finger` does (from the score to a
score with fingers, strokes, costs by term and problems). Both must find the same cost. Times are medians of
processor time in one run; the bar is 100 ms for `finger`.
"""

import random
import sys
import time
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from statistics import median

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from fretwright.fingering.events import moments
from fretwright.fingering.finger import finger
from fretwright.fingering.hand import MEDIUM
from fretwright.fingering.places import PitchedNote, choose_places
from fretwright.fingering.ruler import ruler_for
from fretwright.fingering.search import all_choices, cheapest, starting
from fretwright.fingering.tables import Tables
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack
from fretwright.score.score import Score
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH
from fretwright.theory.key import Key

NOTES = 1000
ROUNDS = 9
BAR_MS = 100.0
SEED = 7


def score_of(notes: list[tuple[int, int, Attack]]) -> Score:
    """Eighth notes at these strings and frets."""
    neck = Neck()
    events = [
        Event(EIGHTH, (Head(Place(string, fret), neck.pitch_at(Place(string, fret)), attack),))
        for string, fret, attack in notes
    ]
    return assemble(Heading("line", "Line", neck, Key(0), TempoMap.constant(80)), into_bars(events))


def leaps() -> Score:
    """Every note anywhere: no step comes twice, the worst case."""
    rng = random.Random(SEED)
    return score_of([(rng.randint(1, 6), rng.randint(0, 18), Attack.PLUCK) for _ in range(NOTES)])


def wandering() -> Score:
    """A line that moves by small steps over the whole neck, with slurs."""
    rng = random.Random(SEED)
    notes: list[tuple[int, int, Attack]] = []
    string, fret = 3, 7
    for _ in range(NOTES):
        crossing = rng.choice([-1, 0, 0, 1])
        step = rng.choice([-3, -2, -1, 1, 2, 3])
        slurred = bool(notes) and crossing == 0 and 0 < fret + step < 18 and rng.random() < 0.5
        string, fret = min(6, max(1, string + crossing)), min(17, max(1, fret + step))
        rises = bool(notes) and fret > notes[-1][1]
        slur = Attack.HAMMER_ON if rises else Attack.PULL_OFF
        notes.append((string, fret, slur if slurred and notes[-1][0] == string else Attack.PLUCK))
    return score_of(notes)


def lesson() -> Score:
    """A pentatonic box up and down, again and again: what an exercise looks like."""
    box = [(6, 5), (6, 8), (5, 5), (5, 7), (4, 5), (4, 7), (3, 5), (3, 7), (2, 5), (2, 8), (1, 5), (1, 8)]
    turns = (box + box[::-1]) * (NOTES // 24 + 1)
    return score_of([(string, fret, Attack.PLUCK) for string, fret in turns[:NOTES]])


def milliseconds(task: Callable[[], object]) -> float:
    """Median processor time of a task after one round to warm up."""
    task()
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        task()
        times.append(time.process_time() - start)
    return 1000 * median(times)


def graph(score: Score) -> tuple[csr_matrix, int]:
    """The search as a graph: node 0 is the hand at the start, the last node the end of the score."""
    ruler = ruler_for(score.neck, MEDIUM)
    tables = Tables(ruler)
    row = [starting(0), *all_choices(ruler, moments(score.notes, score.neck), 0)]
    sources: list[int] = []
    targets: list[int] = []
    costs: list[int] = []
    first = 0
    for before, choices in pairwise(row):
        columns = tables.columns(before, choices)
        after = first + len(before.grips)
        for grip, (steps, alone) in enumerate(zip(columns.steps, columns.alone, strict=True)):
            sources += range(first, after)
            targets += [after + grip] * len(steps)
            # a solver takes an edge of cost 0 for none
            costs += [um + alone + 1 for um in steps]
        first = after
    end = first + len(row[-1].grips)
    sources += range(first, end)
    targets += [end] * (end - first)
    costs += [1] * (end - first)
    shape = (end + 1, end + 1)
    return csr_matrix((np.array(costs, float), (sources, targets)), shape), end


def report(name: str, score: Score) -> bool:
    """Print one line; whether it met the bar."""
    ruler = ruler_for(score.neck, MEDIUM)
    row = [(choices,) for choices in all_choices(ruler, moments(score.notes, score.neck), 0)]
    tables = Tables(ruler)
    matrix, end = graph(score)
    whole_ms = milliseconds(lambda: finger(score))
    ours_ms = milliseconds(lambda: cheapest(ruler, row, 0, tables=tables))
    theirs_ms = milliseconds(lambda: dijkstra(matrix, indices=0))
    ours_um = cheapest(ruler, row, 0, tables=tables).cost_um
    theirs_um = dijkstra(matrix, indices=0)[end] - len(row) - 1
    if ours_um != theirs_um:
        sys.exit(f"{name}: we found {ours_um} um, the reference {theirs_um:.0f} um")
    print(
        f"{name:<10} {end:>6} grips  finger {whole_ms:6.1f} ms   search alone {ours_ms:5.1f} ms   "
        f"scipy Dijkstra {theirs_ms:5.1f} ms   ratio {ours_ms / theirs_ms:4.2f}"
    )
    return whole_ms <= BAR_MS


def main() -> None:
    """Print the table; exit 1 where the bar is missed."""
    print(f"{NOTES} notes, medium hand, medians of {ROUNDS} rounds of processor time\n")
    met = [
        report(name, make())
        for name, make in (("leaps", leaps), ("wandering", wandering), ("lesson", lesson))
    ]
    rng = random.Random(SEED)
    eighth, midi, pitches = Fraction(1, 8), 60, []
    for i in range(NOTES):
        midi = min(80, max(42, midi + rng.randint(-4, 4)))
        pitches.append(PitchedNote(eighth * i, eighth, midi))
    places_ms = milliseconds(lambda: choose_places(pitches, Neck()))
    print(f"{'pitches':<10} strings, frets and fingers together {places_ms:6.1f} ms")
    if not all(met):
        sys.exit(f"more than {BAR_MS:.0f} ms")


if __name__ == "__main__":
    main()
