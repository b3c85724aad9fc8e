"""The order in which written bars are played: repeats and endings taken."""

from collections.abc import Sequence
from dataclasses import dataclass

from fretwright.base.errors import ScoreError
from fretwright.score.score import Bar

_MOST_PLAYED_BARS = 10_000


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """One bar as it comes round in the performance."""

    bar: Bar
    time_through: int
    """1 the first time the bar is played, 2 the second."""


def unfold(bars: Sequence[Bar]) -> tuple[PlayedBar, ...]:
    """The bars in playing order.

    A repeat goes back to the nearest opening sign, or to the start (a pickup is not played again). Under
    an ending bracket a bar is played only on the times the bracket names; a repeated part with brackets
    goes round as often as its highest number says.

    Raises :class:`~fretwright.base.errors.ScoreError` if the repeats never come to an end.
    """
    played: list[PlayedBar] = []
    times: dict[int, int] = {}
    index, time = 0, 1
    opening = 1 if len(bars) > 1 and bars[0].number == 0 else 0
    while index < len(bars):
        bar = bars[index]
        if bar.opens_repeat and index != opening:
            opening, time = index, 1
        if not bar.endings or time in bar.endings:
            times[index] = times.get(index, 0) + 1
            played.append(PlayedBar(bar, times[index]))
            if len(played) > _MOST_PLAYED_BARS:
                message = "the repeats of the score never come to an end"
                raise ScoreError(message)
            if bar.closes_repeat and time < _rounds(bars, index):
                index, time = opening, time + 1
                continue
            if bar.closes_repeat:
                index += 1
                opening, time = index, 1
                continue
        index += 1
        if bar.endings and not (index < len(bars) and bars[index].endings):
            opening, time = index, 1
    return tuple(played)


def _rounds(bars: Sequence[Bar], closing: int) -> int:
    """How often a repeated part goes round: as its last bar says, or as its brackets count."""
    rounds = bars[closing].closes_repeat
    for step in (-1, 1):
        index = closing
        while 0 <= index < len(bars) and bars[index].endings:
            rounds = max(rounds, *bars[index].endings)
            index += step
    return rounds
