"""Bars that come again: each is named once and gone through, its repeats only refer to it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from fretwright.engrave.walkthrough_moments import Moment
from fretwright.engrave.walkthrough_runs import Run, SameOnStrings, fold_runs
from fretwright.engrave.walkthrough_sameness import Sameness
from fretwright.score.score import Bar

_MOST_TWINS = 64
"""Earlier bars that are looked at as the start of what is repeated."""


@dataclass(frozen=True, slots=True)
class SameBars:
    """Bars that repeat earlier ones."""

    moments: tuple[Moment, ...]
    bars: tuple[Bar, ...]
    like: tuple[Bar, ...]
    """The bars they repeat, in order; one bar may stand for all of them."""
    frets_up: int = 0
    """How many frets higher all of it lies; below zero lower."""


@dataclass(frozen=True, slots=True)
class Told:
    """Bars that are told together: one that is named and gone through, or some that repeat others."""

    bars: tuple[Bar, ...]
    passages: tuple[Run | SameOnStrings | SameBars, ...]

    @property
    def repeats_others(self) -> bool:
        """Whether the passages name the bars themselves."""
        return any(isinstance(passage, SameBars) for passage in self.passages)


def fold_bars(moments: Sequence[Moment], bars: Sequence[Bar], sameness: Sameness) -> tuple[Told, ...]:
    """Fold bar by bar: bars that come again, and inside a new bar the runs on other strings."""
    held: dict[Fraction, tuple[Moment, ...]] = {bar.start: () for bar in bars}
    for start, group in groupby(moments, key=lambda moment: moment.bar.start):
        held[start] = tuple(group)
    shelf = _Shelf(bars, held, sameness)
    told: list[Told] = []
    index = 0
    while index < len(bars):
        same = shelf.same_bars(index)
        if same is not None:
            told.append(Told(same.bars, (same,)))
        else:
            told.append(Told((bars[index],), tuple(fold_runs(held[bars[index].start], sameness))))
        index += len(told[-1].bars)
    return tuple(told)


class _Shelf:
    """The bars of a score, ready to be looked up by what they hold."""

    def __init__(
        self, bars: Sequence[Bar], held: Mapping[Fraction, tuple[Moment, ...]], sameness: Sameness
    ) -> None:
        self.bars = bars
        self.held = held
        self.sameness = sameness
        self.kinds = [(bar.meter, bar.length, sameness.kinds(held[bar.start])) for bar in bars]
        self.twins: dict[object, list[int]] = {}
        for index, kind in enumerate(self.kinds):
            self.twins.setdefault(kind, []).append(index)

    def same_bars(self, index: int) -> SameBars | None:
        """The most bars from ``index`` on that repeat what has been said; None where this bar is new."""
        best: tuple[int, range] = (0, range(0))
        for like in self.twins[self.kinds[index]][:_MOST_TWINS]:
            if like >= index:
                break
            one = self._count(index, like, most=len(self.bars), step=0)
            block = self._count(index, like, most=index - like, step=1)
            best = max(best, (block, range(like, like + block)), (one, range(like, like + 1)), key=_gain)
        count, like_range = best
        if count:
            return self._of_bars(self.bars[index : index + count], [self.bars[i] for i in like_range], 0)
        return self._moved_along(index)

    def _count(self, index: int, like: int, *, most: int, step: int) -> int:
        """Bars from ``index`` on that are as bar ``like`` (step 0), or as it and its successors (step 1)."""
        count = 0
        while count < most and self._same(index + count, like + count * step):
            if count and self.bars[index + count - 1].closes_repeat:
                break
            count += 1
        return count

    def _same(self, at: int, like: int) -> bool:
        if at >= len(self.bars) or not (_may_refer(self.bars[at]) and _may_be_referred_to(self.bars[like])):
            return False
        return bool(self.held[self.bars[at].start]) and self.kinds[at] == self.kinds[like]

    def _moved_along(self, index: int) -> SameBars | None:
        """A bar that plays the bar before it elsewhere on the neck."""
        if not index or not _may_refer(self.bars[index]) or not _may_be_referred_to(self.bars[index - 1]):
            return None
        before, this = self.bars[index - 1], self.bars[index]
        apart = self.sameness.frets_apart(self.held[before.start], self.held[this.start])
        twins = before.meter == this.meter and before.length == this.length
        return self._of_bars([this], [before], apart) if apart and twins else None

    def _of_bars(self, bars: Sequence[Bar], like: Sequence[Bar], frets_up: int) -> SameBars:
        moments = tuple(moment for bar in bars for moment in self.held[bar.start])
        return SameBars(moments, tuple(bars), tuple(like), frets_up)


def _gain(candidate: tuple[int, range]) -> tuple[int, int, int]:
    """More bars first, then fewer to refer to, then the earliest."""
    count, like = candidate
    return count, -len(like), -like.start


def _may_refer(bar: Bar) -> bool:
    """Whether nothing has to be said of the bar itself before its notes."""
    return not (bar.opens_repeat or bar.endings or bar.number == 0)


def _may_be_referred_to(bar: Bar) -> bool:
    return bar.number > 0
