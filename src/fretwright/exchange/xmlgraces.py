"""Small notes in MusicXML: they stand before the note that they belong to."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Final

from fretwright.base.spans import Span
from fretwright.exchange.asked import DraftGrace
from fretwright.exchange.losses import Losses
from fretwright.exchange.xmlmarks import Marks, read_marks
from fretwright.exchange.xmlsigns import read_pitch
from fretwright.exchange.xmltree import Node
from fretwright.score.note import Attack
from fretwright.theory.pitch import Pitch

_OWN_ID: Final = re.compile(r".*s([0-9]{1,2})\.g[0-9]{1,2}")
"""The id that a file of ours gives to a small note: that of its note, which names its string."""
_MOST: Final = 8
_LINKS: Final = frozenset({"slur", "hammer-on", "pull-off", "slide", "glissando"})


@dataclass(slots=True)
class Graces:
    """Small notes that wait for their note."""

    _waiting: list[DraftGrace] = field(default_factory=list)
    _is_given: bool = False
    """Whether a note has come since the last of them."""

    def add(self, node: Node, sounding: Callable[[Pitch], Pitch], losses: Losses, span: Span) -> None:
        """Take one small note."""
        if self._is_given:
            self._waiting, self._is_given = [], False
        pitch = read_pitch(node.find("pitch") or node)
        if pitch is None or len(self._waiting) >= _MOST:
            losses.left_out("grace notes", span)
            return
        marks = read_marks(node)
        is_slurred_on = any(kind in _LINKS for kind, _ in marks.starts)
        own = _OWN_ID.fullmatch(node.get("id"))
        host = int(own[1]) if own else None
        self._waiting.append(DraftGrace(sounding(pitch), marks.place, is_slurred_on, host, marks.finger))

    def give_to(self, marks: Marks, *, is_chord: bool) -> None:
        """Give a note the small notes before it; of a chord those that belong to its string."""
        if not self._waiting or (self._is_given and not is_chord):
            self._waiting = []
            return
        self._is_given = True
        string = marks.place.string if marks.place is not None else None
        mine = [grace for grace in self._waiting if grace.host is None or grace.host == string]
        self._waiting = [grace for grace in self._waiting if grace not in mine]
        if mine:
            marks.asked = replace(marks.asked, graces=tuple(mine))


def attack_from(grace: DraftGrace, pitch: Pitch, attack: Attack) -> Attack:
    """How a note starts that is slurred from its small note, where the file has a slur and no more."""
    if attack is not Attack.PLUCK or not grace.is_slurred_on or grace.pitch.midi == pitch.midi:
        return attack
    return Attack.HAMMER_ON if pitch.midi > grace.pitch.midi else Attack.PULL_OFF
