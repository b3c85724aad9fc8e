"""A change of chords in words: what each finger does, and what makes the change easy or hard."""

from collections.abc import Iterator
from typing import Final

from fretwright.engrave.walkthrough_words import counted, fret_words, listed, ordinal, sentence
from fretwright.fretboard.change import Change, FingerMove, Part
from fretwright.fretboard.neck import Place
from fretwright.score.note import Finger

_LEVELS: Final = ((25.0, "an easy change"), (60.0, "a change to get used to"), (110.0, "a hard change"))
"""Cost in mm-equivalents up to which a change is called so (common practice, no source)."""
_HARDEST: Final = "a very hard change"
_FAR_MM: Final = 45.0
"""A finger that travels further than this goes a long way."""


def change_title(change: Change) -> str:
    """The two chords: ``From G to C``."""
    return f"From {change.before.chord.pretty} to {change.after.chord.pretty}"


def change_words(change: Change) -> str:
    """What the fingers do, from those that lead the way to those that land, and how hard it is."""
    told = [
        *(_stays(move) for move in change.fingers(Part.STAYS)),
        *(_guides(move) for move in change.fingers(Part.GUIDES)),
        *(_moves(move) for move in change.fingers(Part.MOVES)),
        *(_comes_down(move) for move in change.fingers(Part.COMES_DOWN)),
        *(f"the {_finger(move)} lifts off" for move in change.fingers(Part.LIFTS)),
    ]
    reasons = list(_reasons(change))
    level = level_of(change)
    rest = [sentence(f"{level}: {listed(reasons)}" if reasons else level)]
    return " ".join([*([sentence(listed(told))] if told else []), *rest])


def level_of(change: Change) -> str:
    """How hard a change is, in a few words."""
    return next((words for cost_mm, words in _LEVELS if change.cost.total <= cost_mm), _HARDEST)


def _reasons(change: Change) -> Iterator[str]:
    anchors = change.fingers(Part.STAYS)
    guides = change.fingers(Part.GUIDES)
    if anchors:
        yield f"{counted(len(anchors), 'finger')} {'stays' if len(anchors) == 1 else 'stay'} down"
    if guides and not anchors:
        yield f"the {_finger(guides[0])} shows the way"
    if change.together > 1:
        yield f"{counted(change.together, 'finger')} land at once"
    if change.cost.barre:
        yield "a finger has to be laid flat"
    if any(move.way_mm > _FAR_MM for move in change.moves):
        yield "the way is long"
    if change.together > 1 and not anchors and not guides:
        yield "no finger shows the way"


def _stays(move: FingerMove) -> str:
    kept = [place for place in move.takes if place in move.leaves]
    flat = ", laid flat" if len(move.takes) > len(move.leaves) else ""
    tip = ", on its tip alone" if len(move.takes) < len(move.leaves) else ""
    return f"the {_finger(move)} stays on {_place(kept[0])}{flat}{tip}"


def _guides(move: FingerMove) -> str:
    shared = max({place.string for place in move.leaves} & {place.string for place in move.takes})
    before, after = (
        next(place for place in held if place.string == shared) for held in (move.leaves, move.takes)
    )
    along = f"along the {ordinal(shared)} string from {fret_words(before.fret)} to {fret_words(after.fret)}"
    return f"the {_finger(move)} slides {along}"


def _moves(move: FingerMove) -> str:
    return f"the {_finger(move)} goes to {_where(move)}"


def _comes_down(move: FingerMove) -> str:
    return f"the {_finger(move)} comes down on {_where(move)}"


def _where(move: FingerMove) -> str:
    """Where a finger lands; a flat one over all its strings."""
    first, last = move.takes[0], move.takes[-1]
    if first == last:
        return _place(first)
    strings = f"the {ordinal(first.string)} to {ordinal(last.string)} string"
    return f"{strings} at {fret_words(first.fret)}, laid flat"


def _place(place: Place) -> str:
    return f"the {ordinal(place.string)} string, {fret_words(place.fret)}"


def _finger(move: FingerMove) -> str:
    return Finger(move.finger).spoken
