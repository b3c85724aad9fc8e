"""Bends in text tab: ``7b9`` and what else a string that is pulled can do.

``b`` and the fret whose pitch is reached go up, ``r`` and a fret come down, ``pb`` is pulled before the
string is struck (common practice, no source). ``b8.5`` reaches a quarter tone above fret 8. Without more said
the curve is the usual one of :mod:`fretwright.score.techniques`, and several moves share the note's length
evenly, half of each to get there and half to stay. ``@1/3`` behind a fret says after which part of the note
it is reached, the string moving there evenly from the corner before.
"""

import re
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final

from fretwright.base.errors import ScoreError
from fretwright.base.spans import Span
from fretwright.course.notebook import Notebook, quoted
from fretwright.score.techniques import Bend, BendPoint, bend_up

_MOVE = r"(?:[0-9]{1,2}(?:\.[0-9]{1,4})?(?:@[0-9]{1,4}(?:/[0-9]{1,4})?)?)?"
BEND: Final = re.compile(rf"(?:pb|[br]){_MOVE}(?:[br]{_MOVE})*", re.IGNORECASE)
"""All the moves of one bend."""
_ONE: Final = re.compile(
    r"(?P<sign>pb|[br])(?P<fret>[0-9]+(?:\.[0-9]+)?)?(?:@(?P<part>[0-9]+)(?:/(?P<whole>[0-9]+))?)?"
)
_FURTHEST: Final = 12
"""Semitones; no string is pulled further."""
_ZERO: Final = Fraction(0)
_TENTHS: Final = (2, 5)


def bend_of(text: str, fret: int, span: Span, notebook: Notebook) -> Bend | None:
    """The bend of a note at ``fret``, or None with a finding."""
    moves = list(_ONE.finditer(text.lower()))
    mend = f"Write {fret}b{fret + 2} to bend up a whole tone, {fret}b{fret + 2}r{fret} to let it down again."
    why = _mistake(moves, fret)
    if why:
        notebook.error("bad-bend", span, f"{quoted(span.text)} {why}.", mend)
        return None
    heights = [Fraction(move["fret"]) - fret for move in moves]
    shares = [_share(move) for move in moves]
    is_pulled_before = moves[0]["sign"] == "pb"
    try:
        timed = [share for share in shares if share is not None]
        if timed:
            start = () if is_pulled_before else (BendPoint(_ZERO, _ZERO),)
            corners = zip(timed, heights, strict=True)
            return Bend((*start, *(BendPoint(at, height) for at, height in corners)))
        return _usual(heights, is_pulled_before=is_pulled_before)
    except ScoreError as error:
        notebook.refused("bad-bend", span, error, "Let the parts of the note behind @ grow from 0 to 1.")
        return None


def _mistake(moves: Sequence[re.Match[str]], fret: int) -> str:
    """What cannot be understood in the moves; empty where all is well."""
    timed = [move["part"] is not None for move in moves]
    if moves[0]["sign"] == "r":
        return "lets a string down that is not bent"
    if any(move["fret"] is None for move in moves):
        return "does not say to the pitch of which fret it is bent or let down"
    if any(timed) and not all(timed):
        return "says of some moves when they arrive, and not of all"
    if any(move["whole"] is not None and int(move["whole"]) == 0 for move in moves):
        return "divides the note into no parts"
    return _wrong_height(moves, fret)


def _wrong_height(moves: Sequence[re.Match[str]], fret: int) -> str:
    heights = [Fraction(move["fret"]) - fret for move in moves]
    if min(heights) < 0:
        return f"goes below fret {fret}, and a string that is pulled only gets higher"
    if not 0 < max(heights) <= _FURTHEST:
        return f"bends from fret {fret} to no higher pitch, or by more than an octave"
    for move, (before, after) in zip(moves, pairwise([_ZERO, *heights]), strict=True):
        if move["sign"] == "r" and after > before:
            return f"lets the string down to fret {move['fret']}, which is higher"
    return ""


def _share(move: re.Match[str]) -> Fraction | None:
    if move["part"] is None:
        return None
    return Fraction(int(move["part"]), int(move["whole"] or 1))


def _usual(heights: Sequence[Fraction], *, is_pulled_before: bool) -> Bend:
    """The curve where nothing is said of it."""
    if len(heights) == 1:
        return Bend((BendPoint(_ZERO, heights[0]),)) if is_pulled_before else bend_up(heights[0])
    points = [] if is_pulled_before else [BendPoint(_ZERO, _ZERO)]
    for index, height in enumerate(heights):
        arrived = Fraction(2 * index + 1, 2 * len(heights))
        left = Fraction(2 * index + 2, 2 * len(heights))
        points.append(BendPoint(_ZERO if is_pulled_before and index == 0 else arrived, height))
        if index + 1 < len(heights):
            points.append(BendPoint(left, height))
    return Bend(tuple(points))


def bend_text(bend: Bend, fret: int) -> str:
    """A bend of a note at ``fret`` as it is written; what is usual without its times.

    Raises :class:`~fretwright.base.errors.ScoreError` for a height that no decimal number of frets says.
    """
    start, *corners = bend.points
    if start == BendPoint(_ZERO, _ZERO):
        heights, is_pulled_before = [corner.semitones for corner in corners], False
    else:
        corners = list(bend.points)
        heights, is_pulled_before = [corner.semitones for corner in corners], True
    turns = [height for nth, height in enumerate(heights) if nth == 0 or height != heights[nth - 1]]
    is_usual = len(turns) > 0 and _usual(turns, is_pulled_before=is_pulled_before) == bend
    before, text = _ZERO, ""
    for index, height in enumerate(turns if is_usual else heights):
        sign = "pb" if is_pulled_before and index == 0 else "r" if height < before else "b"
        at = "" if is_usual else f"@{corners[index].at}"
        text += f"{sign}{_decimal(fret + height)}{at}"
        before = height
    return text


def _decimal(number: Fraction) -> str:
    rest = number.denominator
    for prime in _TENTHS:
        while rest % prime == 0:
            rest //= prime
    if rest != 1 or number * 10_000 % 1:
        message = f"a bend by {number} semitones has no sign in text tab"
        raise ScoreError(message)
    return f"{float(number):g}"
