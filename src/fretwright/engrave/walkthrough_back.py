"""Back the same way: the longest stretch that plays what came before it in reverse order."""

from collections.abc import Sequence
from dataclasses import dataclass

from fretwright.engrave.walkthrough_moments import Moment
from fretwright.engrave.walkthrough_sameness import Sameness
from fretwright.score.note import Attack

_FEWEST = 4
"""Shorter ways back are quicker said than referred to."""
_MOST = 64
_FEWEST_PLACES = 3
"""What goes to and fro between fewer places is no way back to a listener."""


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


def longest_back(moments: Sequence[Moment], sameness: Sameness) -> tuple[int, Back] | None:
    """Where the longest way back starts, and the way back; None where none is worth saying."""
    touches = [_touch(moment) if _is_plain(moment) else None for moment in moments]
    best: tuple[int, Back] | None = None
    for start in range(_FEWEST, len(moments)):
        for turns_on in (True, False):
            turn = start - 1 if turns_on else start - 2
            length = _reach(moments, touches, turn, start)
            if length < max(_FEWEST, 1 + len(best[1].moments) if best else 0):
                continue
            back = _back(moments, turn, start, length, turns_on=turns_on)
            places = {_touch(moment) for moment in back.moments}
            there = moments[turn - length + 1 : turn + 1][::-1]
            strokes = not sameness.strokes or _strokes_match(there, back.moments)
            if len(places) >= _FEWEST_PLACES and strokes:
                best = start, back
    return best


def _reach(
    moments: Sequence[Moment], touches: Sequence[tuple[object, ...] | None], turn: int, start: int
) -> int:
    """How many moments from ``start`` on go back over those up to ``turn``.

    The last of them may have another length than on the way there.
    """
    length = 0
    longest = min(_MOST, turn + 1, len(moments) - start)
    while length < longest:
        there, back = touches[turn - length], touches[start + length]
        if back is None or there != back:
            break
        length += 1
        if moments[turn - length + 1].step != moments[start + length - 1].step:
            break
    return length


def _back(moments: Sequence[Moment], turn: int, start: int, length: int, *, turns_on: bool) -> Back:
    taken = tuple(moments[start : start + length])
    highest, last = moments[start - 1].notes[0].midi, taken[-1].notes[0].midi
    return Back(
        taken,
        turns_on,
        longer_last=moments[turn - length + 1].step != taken[-1].step,
        falls=None if highest == last else last < highest,
    )


def _is_plain(moment: Moment) -> bool:
    """A single plucked note that lasts until the next one: all that can be said backwards."""
    note = moment.notes[0] if len(moment.notes) == 1 else None
    if note is None or not note.techniques.is_plain or note.voice > 1:
        return False
    return note.attack is Attack.PLUCK and not moment.signs and not moment.rings_on(note)


def _touch(moment: Moment) -> tuple[object, ...]:
    note = moment.notes[0]
    return note.string, note.fret, note.finger if note.fret else None, note.picking_finger


def _strokes_match(there: Sequence[Moment], back: Sequence[Moment]) -> bool:
    return all(a.notes[0].stroke == b.notes[0].stroke for a, b in zip(there, back, strict=True))
