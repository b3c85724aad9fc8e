"""How a teacher shortens what is said: the same on other strings, back the same way, the same bar again.

Moments enter in order of time; passages leave, which together hold every moment exactly once and in
order. A passage that is folded refers to moments before it whose words the listener has just heard.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from fretwright.engrave.walkthrough_moments import Moment, Row
from fretwright.score.note import Attack
from fretwright.score.score import Bar

_FEWEST_BACK = 4
"""Shorter ways back are quicker said than referred to."""
_FEWEST_PLACES_BACK = 3
"""What goes to and fro between fewer places is no way back to a listener."""
_FEWEST_ON_STRING = 2


@dataclass(frozen=True, slots=True)
class Run:
    """Moments that are said one by one."""

    moments: tuple[Moment, ...]


@dataclass(frozen=True, slots=True)
class SameOnStrings:
    """The run before, played again on other strings, once on each."""

    moments: tuple[Moment, ...]
    strings: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Back:
    """The moments before, in reverse order."""

    moments: tuple[Moment, ...]
    turns_on: bool
    """Whether the last moment before is played again; otherwise the way back starts one before it."""
    longer_last: bool
    """Whether the last moment has another length than on the way there."""
    falls: bool | None
    """Whether the way back leads down in pitch; None where it ends as high as it turned."""
    whole: bool
    """Whether it leads back to the very first note."""


@dataclass(frozen=True, slots=True)
class SameBars:
    """Bars that repeat earlier ones."""

    moments: tuple[Moment, ...]
    bars: tuple[Bar, ...]
    like: tuple[Bar, ...]
    """The bars they repeat, in order; one bar may stand for all of them."""
    frets_up: int = 0
    """How many frets higher all of it lies; below zero lower."""


Passage = Run | SameOnStrings | Back | SameBars


@dataclass(frozen=True, slots=True)
class Folding:
    """What decides whether two moments are the same for the listener."""

    strokes: bool
    """Whether strokes are told note by note."""

    def same(self, a: Sequence[Moment], b: Sequence[Moment]) -> bool:
        """Whether two stretches are the same, strings included."""
        return self._equal(a, b, lambda row: row)

    def same_elsewhere(self, a: Sequence[Moment], b: Sequence[Moment]) -> bool:
        """Whether two stretches of single notes are the same on any one string each."""
        return self._equal(a, b, lambda row: row._replace(string=0))

    def frets_apart(self, a: Sequence[Moment], b: Sequence[Moment]) -> int:
        """How many frets higher ``b`` plays what ``a`` plays; 0 where it plays anything else."""
        fretted = [note.fret for moment in a for note in moment.notes]
        moved = [note.fret for moment in b for note in moment.notes]
        same = self._equal(a, b, lambda row: row._replace(fret=0))
        if not same or not fretted or 0 in (*fretted, *moved):
            return 0
        distances = {to - where for where, to in zip(fretted, moved, strict=True)}
        return distances.pop() if len(distances) == 1 else 0

    def _equal(self, a: Sequence[Moment], b: Sequence[Moment], key: Callable[[Row], Row]) -> bool:
        def known(moment: Moment) -> tuple[object, ...]:
            rows = tuple(key(row) for row in moment.rows(strokes=self.strokes))
            return rows, moment.step, moment.signs

        return len(a) == len(b) and all(known(x) == known(y) for x, y in zip(a, b, strict=True))


def fold_line(moments: Sequence[Moment], folding: Folding) -> tuple[Passage, ...]:
    """Fold a line without regard to its bars: first the longest way back, then runs on other strings."""
    back = _longest_back(moments, folding)
    if back is None:
        return tuple(_fold_runs(moments, folding))
    start, passage = back
    after = moments[start + len(passage.moments) :]
    return (*_fold_runs(moments[:start], folding), passage, *_fold_runs(after, folding))


@dataclass(frozen=True, slots=True)
class Told:
    """Bars that are told together: one that is named and gone through, or some that repeat others."""

    bars: tuple[Bar, ...]
    passages: tuple[Passage, ...]

    @property
    def repeats_others(self) -> bool:
        """Whether the passages name the bars themselves."""
        return any(isinstance(passage, SameBars) for passage in self.passages)


def fold_bars(moments: Sequence[Moment], bars: Sequence[Bar], folding: Folding) -> tuple[Told, ...]:
    """Fold bar by bar: bars that come again, and inside a new bar the runs on other strings."""
    held = {bar.start: tuple(m for m in moments if m.bar.start == bar.start) for bar in bars}
    told: list[Told] = []
    index = 0
    while index < len(bars):
        same = _same_bars(bars, index, held, folding)
        if same is not None:
            told.append(Told(same.bars, (same,)))
        else:
            told.append(Told((bars[index],), tuple(_fold_runs(held[bars[index].start], folding))))
        index += len(told[-1].bars)
    return tuple(told)


def fold_rounds(moments: Sequence[Moment], folding: Folding) -> Iterator[tuple[tuple[Moment, ...], int]]:
    """A run as stretches that are played so many times in a row; those that are long in all come first."""
    index = 0
    while index < len(moments):
        size, rounds = 1, 1
        for candidate in range(1, (len(moments) - index) // 2 + 1):
            count = _rounds(moments, index, candidate, folding)
            if count > 1 and candidate * count > size * rounds:
                size, rounds = candidate, count
        yield tuple(moments[index : index + size]), rounds
        index += size * rounds


def _rounds(moments: Sequence[Moment], start: int, size: int, folding: Folding) -> int:
    """How often the ``size`` moments from ``start`` on are played in a row."""
    model = moments[start : start + size]
    if any(not moment.notes or moment.signs for moment in model):
        return 1
    if size > 1 and any(moment.string is None for moment in model):
        return 1  # "those two" counts single notes
    count = 1
    while True:
        again = moments[start + count * size : start + (count + 1) * size]
        if any(moment.shift for moment in again) or not folding.same(model, again):
            return count
        count += 1


def _longest_back(moments: Sequence[Moment], folding: Folding) -> tuple[int, Back] | None:
    """Where the longest way back starts, and the way back; None where none is worth saying."""
    best: tuple[int, Back] | None = None
    for start in range(_FEWEST_BACK, len(moments)):
        for turns_on in (True, False):
            way_there = moments[: start if turns_on else start - 1][::-1]
            length, longer_last = _reach(way_there, moments[start:])
            if length < max(_FEWEST_BACK, 1 + len(best[1].moments) if best else 0):
                continue
            taken = tuple(moments[start : start + length])
            if len({_touch(moment) for moment in taken}) < _FEWEST_PLACES_BACK:
                continue
            if folding.strokes and not _strokes_match(way_there[:length], taken):
                continue
            turn, last = moments[start - 1].notes[0].midi, taken[-1].notes[0].midi
            falls = None if turn == last else last < turn
            best = start, Back(taken, turns_on, longer_last, falls, length == len(way_there))
    return best


def _reach(way_there: Sequence[Moment], way_back: Sequence[Moment]) -> tuple[int, bool]:
    """How many moments go back over the same places, and whether the last of them has another length."""
    length = 0
    for there, back in zip(way_there, way_back, strict=False):
        if not (_is_plain(there) and _is_plain(back)) or _touch(there) != _touch(back):
            break
        length += 1
        if there.step != back.step:
            return length, True
    return length, False


def _is_plain(moment: Moment) -> bool:
    """A single plucked note that lasts until the next one: all that can be said backwards."""
    note = moment.notes[0] if len(moment.notes) == 1 else None
    return note is not None and note.attack is Attack.PLUCK and not moment.signs and not moment.rings_on(note)


def _touch(moment: Moment) -> tuple[object, ...]:
    note = moment.notes[0]
    return note.string, note.fret, note.finger if note.fret else None


def _strokes_match(there: Sequence[Moment], back: Sequence[Moment]) -> bool:
    return all(a.notes[0].stroke == b.notes[0].stroke for a, b in zip(there, back, strict=True))


def _fold_runs(moments: Sequence[Moment], folding: Folding) -> Iterator[Passage]:
    """Runs on one string each; those that repeat the run before on further strings are folded."""
    runs = list(_runs(moments))
    while runs:
        model = runs.pop(0)
        yield Run(model)
        copies: list[tuple[Moment, ...]] = []
        while runs:
            # After its last note a copy may rest where its model has gone on.
            sounding = tuple(runs[0][: 1 + max((i for i, m in enumerate(runs[0]) if m.notes), default=0)])
            taken = next(
                (run for run in (runs[0], sounding) if _is_copy(run, [model, *copies], folding)), None
            )
            if taken is None:
                break
            copies.append(taken)
            runs[:1] = [left] if (left := runs[0][len(taken) :]) else []
        if copies:
            strings = tuple(run[0].notes[0].string for run in copies)
            yield SameOnStrings(tuple(moment for run in copies for moment in run), strings)


def _is_copy(run: Sequence[Moment], before: Sequence[Sequence[Moment]], folding: Folding) -> bool:
    """Whether a run does what the runs before do, on the next string in the same direction."""
    notes = sum(1 for moment in run if moment.notes)
    if notes < _FEWEST_ON_STRING or any(moment.shift for moment in run):
        return False
    strings = [moments[0].string for moments in (*before, run)]
    steps = {b - a for a, b in pairwise(strings) if a is not None and b is not None}
    one_way = None not in strings and (max(steps) < 0 or min(steps) > 0)
    return one_way and folding.same_elsewhere(before[-1], run)


def _runs(moments: Sequence[Moment]) -> Iterator[tuple[Moment, ...]]:
    """Stretches on one string with the rests that follow; what sounds together is a run of its own."""
    run: list[Moment] = []
    for moment in moments:
        goes_on = not moment.notes or (moment.string is not None and run and moment.string == run[0].string)
        if run and not goes_on:
            yield tuple(run)
            run = []
        run.append(moment)
    if run:
        yield tuple(run)


def _same_bars(
    bars: Sequence[Bar], index: int, held: dict[Fraction, tuple[Moment, ...]], folding: Folding
) -> SameBars | None:
    """The most bars from ``index`` on that repeat what has been said; None where this bar is new."""

    def same(at: int, like: int) -> bool:
        if at >= len(bars) or not (_may_refer(bars[at]) and _may_be_referred_to(bars[like])):
            return False
        if at > index and bars[at - 1].closes_repeat:
            return False
        twins = bars[at].meter == bars[like].meter and bars[at].length == bars[like].length
        moments = held[bars[at].start]
        return twins and bool(moments) and folding.same(held[bars[like].start], moments)

    best: tuple[int, range] = (0, range(0))
    for like in range(index):
        one = next(n for n in range(len(bars)) if not same(index + n, like))
        block = next(n for n in range(len(bars)) if n >= index - like or not same(index + n, like + n))
        best = max(best, (block, range(like, like + block)), (one, range(like, like + 1)), key=_gain)
    count, like_range = best
    if count:
        return _of_bars(bars[index : index + count], [bars[i] for i in like_range], held, 0)
    if index and _may_refer(bars[index]) and _may_be_referred_to(bars[index - 1]):
        previous, this = bars[index - 1], bars[index]
        apart = folding.frets_apart(held[previous.start], held[this.start])
        if apart and previous.meter == this.meter and previous.length == this.length:
            return _of_bars([this], [previous], held, apart)
    return None


def _gain(candidate: tuple[int, range]) -> tuple[int, int, int]:
    """More bars first, then fewer to refer to, then the earliest."""
    count, like = candidate
    return count, -len(like), -like.start


def _of_bars(
    bars: Sequence[Bar], like: Sequence[Bar], held: dict[Fraction, tuple[Moment, ...]], frets_up: int
) -> SameBars:
    moments = tuple(moment for bar in bars for moment in held[bar.start])
    return SameBars(moments, tuple(bars), tuple(like), frets_up)


def _may_refer(bar: Bar) -> bool:
    """Whether nothing has to be said of the bar itself before its notes."""
    return not (bar.opens_repeat or bar.endings or bar.number == 0)


def _may_be_referred_to(bar: Bar) -> bool:
    return bar.number > 0
