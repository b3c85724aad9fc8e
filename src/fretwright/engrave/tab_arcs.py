"""Slurs and slides in the tab: an arc over each slurred pair, its letter over the arc.

An arc fits between its string and the next one, and its letter into the space above; both give way to fret
numbers, and the letter to bar lines as well. Where several strings of a chord are slurred alike, the letter
stands once, over the highest.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import inf
from typing import Final, Literal

from fretwright.engrave.arcs import opening_x
from fretwright.engrave.bonds import LETTERS, Bond
from fretwright.engrave.ink import Arc, Box, Ink, Line, Text, centred, ink_of
from fretwright.engrave.marks import LETTER_FACE, LETTER_SIZE
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.staff import Drawing, HeadSpot
from fretwright.engrave.style import ARC_MIDDLE, DIGIT_HEIGHT, TAB_SPACE
from fretwright.engrave.taken import Taken, count_met
from fretwright.score.note import Attack

_RISE: Final = 0.42
_FOOT: Final = DIGIT_HEIGHT / 2 + 0.16
"""How far from its string's line an arc starts."""
_LOW_FOOT: Final = 0.55
_LOW_RISE: Final = 0.2
_WAYS: Final = (
    (-1, True, _FOOT, _RISE), (-1, False, _FOOT, _RISE), (1, False, _FOOT, _RISE), (1, True, _FOOT, _RISE),
    (-1, False, _LOW_FOOT, _LOW_RISE), (1, False, _LOW_FOOT, _LOW_RISE), (-1, True, _FOOT, _LOW_RISE),
    (1, True, _FOOT, _LOW_RISE), (-1, False, _FOOT, _LOW_RISE), (1, False, _FOOT, _LOW_RISE),
)  # fmt: skip
"""What is tried for an arc: its side, whether from middle to middle or between the two, how far, how high."""
_SHORT_WAYS: Final = tuple((longest, way) for longest in (2.2, 1.2) for way in _WAYS[4:6])
"""The last resort among the notes of another voice: only the end of the arc, before the note it leads to."""
_CLOSE_WAYS: Final = (*_WAYS[4:6], *_WAYS)
"""The same where several strings are slurred together: first what keeps to its own string."""
_ASIDE: Final = (0.0, -0.7, 0.7, -1.4, 1.4, -2.1, 2.1, -2.8, 2.8)
_MOST_HEIGHTS: Final = 5
_FORBIDDEN: Final = 1000
"""How much worse it is to run into a number than to cross the arrow of a bend."""
_NEAR: Final = 2.0
"""Nothing further than this beside a pair can be in the way of its marks."""
_LEAN: Final = 0.4
"""How far a slide's stroke starts and ends off its string's line."""


def tab_arcs(
    pairs: Sequence[Bond],
    drawing: Drawing,
    system: PlacedSystem,
    standing: Sequence[Ink],
    corridors: Sequence[Box],
) -> list[Ink]:
    """All arcs, letters and strokes of slides in a system, clear of what stands there already.

    No letter stands in a corridor, where the arrow of a bend will rise; an arc crosses one only where it
    cannot do otherwise.
    """
    drawn: list[Ink] = []
    strokes = {pair.last: list(_slide(pair, drawing, system)) for pair in pairs}
    taken = Taken([*standing, *(each for stroke in strokes.values() for each in stroke)])
    letters = _Letters(drawing, system, corridors)
    # Where much stands in the tab all arcs are drawn before any letter, which can give way more easily.
    crowd = bool(corridors) or any(spot.is_crowded for spot in drawing.heads.values())
    crowd = crowd or any(bar.plan.content.is_shared for bar in system.bars)
    waiting: list[tuple[Bond, Arc]] = []
    for pair in sorted(pairs, key=lambda pair: (pair.start, pair.string)):
        first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
        if (first is None and last is None) or pair.attack is None:
            continue
        if pair.is_struck:
            drawn.extend(strokes[pair.last])
            continue
        near = _near(taken, drawing, pair, system)
        together = sum((other.start, other.end) == (pair.start, pair.end) for other in pairs) > 1
        ways = _CLOSE_WAYS if together else _WAYS
        arc = _arc(pair, (first, last), system, (near, corridors), ways)
        taken.add(arc.boxes)
        waiting.append((pair, arc))
        marks: list[Ink] = [arc]
        if not crowd:
            marks += letters.of(pair, arc, [*near, *arc.boxes])
            taken.add_ink(marks[1:])
        drawn += [*marks, *strokes[pair.last]]
    for pair, arc in waiting if crowd else ():
        letter = letters.of(pair, arc, _near(taken, drawing, pair, system))
        drawn += letter
        taken.add_ink(letter)
    return drawn


def _near(taken: Taken, drawing: Drawing, pair: Bond, system: PlacedSystem) -> list[Box]:
    """What may be in the way of a pair's marks."""
    first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
    left = first.left if first else opening_x(system)
    right = last.right if last else system.right
    return taken.near(left - _NEAR, right + _NEAR)


@dataclass(slots=True)
class _Letters:
    """Gives each slur its letter, slurs that are alike only one."""

    drawing: Drawing
    system: PlacedSystem
    corridors: Sequence[Box]
    given: set[tuple[object, ...]] = field(default_factory=set)

    def of(self, pair: Bond, arc: Arc, taken: Sequence[Box]) -> list[Ink]:
        """The letter of a pair; none where one stands already, or the note is on the next line."""
        first, last = self.drawing.heads.get(pair.first), self.drawing.heads.get(pair.last)
        alike = (pair.start, pair.end, pair.attack)
        if last is None or alike in self.given:
            return []
        self.given.add(alike)
        crowded = last.is_crowded or first is None or first.is_crowded or bool(self.corridors)
        blocked = [*taken, *self.corridors]
        letter = _letter(pair, arc, last.y, blocked, self.system, crowded=crowded)
        return [letter] if letter is not None else []


def _arc(
    pair: Bond,
    ends: tuple[HeadSpot | None, HeadSpot | None],
    system: PlacedSystem,
    taken: tuple[Sequence[Box], Sequence[Box]],
    ways: Sequence[tuple[int, bool, float, float]],
) -> Arc:
    """Over the fret numbers' middles; where another number is in the way, between the two; else below.

    ``taken`` is what the arc may not meet, and what it had better not meet.
    """
    first, last = ends
    opens: Literal["", "left", "right"] = "" if first and last else "right" if first else "left"
    known = first or last
    assert known is not None  # noqa: S101 - one of the two is always there
    best: tuple[int, Arc] | None = None
    for longest, (side, centred_on, foot, rise) in (*((inf, way) for way in ways), *_SHORT_WAYS):
        x0, x1 = opening_x(system), system.bars[-1].inner_right - 0.15
        if first is not None:
            x0 = (first.left + first.right) / 2 + 0.12 if centred_on else first.clear_right + 0.12
        if last is not None:
            x1 = (last.left + last.right) / 2 - 0.12 if centred_on else last.clear_left - 0.12
        if last is not None:
            x0 = max(x0, x1 - longest)
        else:
            x1 = min(x1, x0 + longest)
        y = known.y + side * foot
        arc = Arc(x0, y, x1, y, side * rise, ARC_MIDDLE, opens, role="slur", note=pair.last[0], layer="tab")
        met = _FORBIDDEN * count_met(arc.boxes, taken[0]) + count_met(arc.boxes, taken[1])
        if best is None or met < best[0]:
            best = met, arc
        if not met:
            break
    assert best is not None  # noqa: S101 - the loop runs
    return best[1]


def _letter(
    pair: Bond, arc: Arc, string_y: float, taken: Sequence[Box], system: PlacedSystem, *, crowded: bool
) -> Text | None:
    """The letter in the space over its arc, clear of bar lines and of all that stands there.

    Where more than numbers stands there it may give way to the side before it moves up. None where there is
    no room for it at all; the arc tells of the slur in any case.
    """
    text = LETTERS[pair.attack or Attack.HAMMER_ON]
    half = ink_of(text, LETTER_FACE, LETTER_SIZE).width / 2
    middle = at = (arc.x0 + arc.x1) / 2
    y = string_y - (TAB_SPACE + 0.3 if string_y else _FOOT + _RISE + 0.28)
    if y > 0:
        for bar in system.bars:
            near = bar.inner_right - half - 0.3, bar.right + half + 0.3
            if near[0] < at < near[1]:
                at = min(near, key=lambda edge: abs(edge - middle))
    letter = centred(text, LETTER_FACE, LETTER_SIZE, at, y, role="letter", note=pair.last[0], layer="tab")
    # Where a letter moves aside it keeps clear of bar lines and of the signs that open the system.
    lines = [Box(bar.inner_right - 0.2, 0.0, bar.right + 0.2, 99.0) for bar in system.bars if crowded]
    lines.append(Box(-99.0, 0.0, opening_x(system), 99.0))
    blocked = [*taken, *lines]
    for height in range(_MOST_HEIGHTS if crowded else 99):
        for aside in _ASIDE if crowded else (0.0,):
            moved = letter.moved(aside, -TAB_SPACE * height)
            box = moved.box
            if not any(box.meets(other) for other in blocked):
                return moved
    return None


def _slide(pair: Bond, drawing: Drawing, system: PlacedSystem) -> Iterator[Ink]:
    """The stroke along the string; to the end of the line where its last note stands on the next."""
    first, last = drawing.heads.get(pair.first), drawing.heads.get(pair.last)
    known = first or last
    if pair.attack is not Attack.SLIDE or known is None:
        return
    left, right = opening_x(system), system.bars[-1].inner_right - 0.15
    if first:
        left = (first.clear_right if first.is_crowded else first.right) + 0.25
    if last:
        right = (last.clear_left if last.is_crowded else last.left) - 0.25
    if right - left > 0.3:
        lean = -_LEAN if pair.falls else _LEAN
        yield Line(
            left, known.y + lean, right, known.y - lean, 0.13, role="slide", note=pair.last[0], layer="tab"
        )
