"""Room beside a column: places for all that stands there, so that the springs keep it clear of the next.

Enters: a moment and the room that its own heads and fret numbers take. Leaves: the same with a place for each
grace note, bend, rake, roll, slide and trill.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Final, Protocol

from fretwright.engrave.beside import (
    GOAL_BRACKET,
    SLIDE_LENGTH,
    TRILL_GAP,
    BendMove,
    Beside,
    Goal,
    GraceHead,
    GraceSlot,
    Move,
    TabBend,
    amount_text,
    small_sign_gap,
)
from fretwright.engrave.glyphs import glyph
from fretwright.engrave.heads import GRACE_SCALE, fret_width, head_width, small_fret_width
from fretwright.engrave.ink import ink_of
from fretwright.engrave.marks import BEND_FACE, BEND_SIZE
from fretwright.engrave.pitches import ACCIDENTALS, Clef, SignKey, grace_key, step_of_pitch
from fretwright.engrave.reading import Moment
from fretwright.engrave.rolls import with_rolls
from fretwright.score.note import Note
from fretwright.score.techniques import Bend, Stroke
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch

SLIDE_GAP: Final = 0.22
SMALL_GAP: Final = 0.3
"""White beside small heads and numbers."""
RAKE_STEP: Final = 0.85
"""From one muted string of a rake to the next."""
_RAKED: Final = 3
"""The most strings that are drawn of a rake."""
_BEND_MOVE: Final = 1.35
_PRE_BEND: Final = 0.28
_PAST_LETTERS: Final = 0.95
"""An arrow passes beside the letter or stroke over its number, at least this far from the axis."""
_BETWEEN_AMOUNTS: Final = 0.4
_BEND_FOOT: Final = 0.14
_RISE_ROOM: Final = 0.55
"""Room for the stroke that leads to a bend's goal."""


class Written(Protocol):
    """What else is written in a bar."""

    def alters(self, letter: str, octave: int) -> frozenset[int]:
        """The alterations that notes of this letter and octave have there."""


def beside(
    moment: Moment,
    room: Beside,
    clef: Clef,
    signs: Mapping[SignKey, str],
    key: Key,
    strings: int,
    written: Written | None,
) -> Beside:
    """Place everything beside a column.

    ``written`` knows what else is written in the bar; None where there is no staff.
    """
    struck = [head for head in moment.heads if not head.is_held]
    notes = [head.note for head in struck]
    if not any(_has_asides(head.note) for head in moment.heads):
        return room
    if written is not None:
        room = _with_goals(notes, room, clef, key, written)
    inner = max((_own_right(head.note, fret_width(head) / 2) for head in struck), default=0.0)
    trilled = any(head.note.techniques.trill for head in struck)
    room = replace(room, tab_right=max(room.tab_right, inner), has_auxiliary=trilled)
    room = _with_bends(notes, room)
    room = _with_slides_out(moment, room)
    room = _with_slides_in(notes, room)
    room = _with_rakes(notes, room, strings)
    room = with_rolls(notes, room)
    return _with_graces(moment, room, clef, signs)


def _has_asides(note: Note) -> bool:
    ways = note.techniques
    before = ways.graces or ways.slide_in or ways.rake or ways.roll
    return bool(before or ways.bend or ways.slide_out or ways.trill)


def _own_right(note: Note, half: float) -> float:
    """How far a number reaches with the other note of its trill."""
    trill = note.techniques.trill
    return half if trill is None else half + TRILL_GAP + small_fret_width(f"({trill.fret})")


def _with_goals(notes: Sequence[Note], room: Beside, clef: Clef, key: Key, written: Written) -> Beside:
    """The goals of bends, each in a place of its own."""
    goals: list[Goal] = []
    right = room.right
    for note in notes:
        bend = note.techniques.bend
        if bend is None:
            continue
        at = right + SMALL_GAP
        pitch = _goal_pitch(note, bend, key)
        if pitch is None:
            goals.append(Goal(note, at, at, None, None))
            right = at + 0.9
            continue
        others = written.alters(pitch.name.letter, pitch.octave) - {pitch.name.alter}
        told = pitch.name.alter != key.alter_of(pitch.name.letter) or others
        sign = ACCIDENTALS.get(pitch.name.alter) if told else None
        goals.append(Goal(note, at, at + _RISE_ROOM, step_of_pitch(pitch, clef), sign))
        step = step_of_pitch(pitch, clef)
        right = at + _RISE_ROOM + goal_width(sign, step) + (0.8 if bend.is_released else 0.0)
    return replace(room, right=right, goals=tuple(goals))


def _goal_pitch(note: Note, bend: Bend, key: Key) -> Pitch | None:
    if bend.peak.denominator != 1:
        return None
    return key.spell(note.pitch.midi + int(bend.peak))


def goal_width(accidental: str | None, step: int) -> float:
    """Of the small head of a bend's goal with its brackets and accidental."""
    sign = glyph(accidental).width_sp * GRACE_SCALE + small_sign_gap([step]) if accidental else 0.0
    return 2 * GOAL_BRACKET + head_width("noteheadBlack") * GRACE_SCALE + sign


def moves_of(bend: Bend) -> Iterator[tuple[Move, Fraction]]:
    """The strokes of a bend: how it moves and where it then is."""
    before = bend.points[0].semitones
    if before > 0:
        yield "set", before
    for point in bend.points[1:]:
        if point.semitones != before:
            yield ("up" if point.semitones > before else "down"), point.semitones
        before = point.semitones


def _with_bends(notes: Sequence[Note], room: Beside) -> Beside:
    """Bends of higher strings first, so that the arrow of a lower string rises outside of them."""
    bends: list[TabBend] = []
    x = room.tab_right
    for note in sorted(notes, key=lambda note: note.string):
        if note.techniques.bend is None:
            continue
        start = x + _BEND_FOOT
        x, last_amount = start, 0.0
        moves: list[BendMove] = []
        for kind, semitones in moves_of(note.techniques.bend):
            amount = amount_text(semitones) if semitones else ""
            width = ink_of(amount, BEND_FACE, BEND_SIZE).width if amount else 0.0
            step = _PRE_BEND if kind == "set" else _BEND_MOVE
            if amount and last_amount:
                step = max(step, (last_amount + width) / 2 + _BETWEEN_AMOUNTS)
            if not moves and bends:
                step = max(step, width / 2 + 0.2)
            x = max(x + step, _PAST_LETTERS)
            moves.append(BendMove(kind, amount, x))
            last_amount = width
        bends.append(TabBend(note, start, tuple(moves)))
        x += max(0.35, last_amount / 2 + 0.1)
    return replace(room, bends=tuple(bends), tab_right=x)


def _with_slides_out(moment: Moment, room: Beside) -> Beside:
    ends = [head for head in moment.heads if head.note.techniques.slide_out and not head.is_tied_on]
    if not ends:
        return room
    right, tab_right = room.right, room.tab_right
    bent = {bend.note.id: bend.moves[-1].dx + 0.3 for bend in room.bends}
    slides = []
    for head in ends:
        own = _own_right(head.note, fret_width(head) / 2) if not head.is_held else fret_width(head) / 2
        start = bent.get(head.note.id, own) + SLIDE_GAP
        slides.append((head.note, right + SLIDE_GAP, start))
        tab_right = max(tab_right, start + SLIDE_LENGTH)
    return replace(
        room, slides_out=tuple(slides), right=right + SLIDE_GAP + SLIDE_LENGTH, tab_right=tab_right
    )


def _with_slides_in(notes: Sequence[Note], room: Beside) -> Beside:
    sliding = [note for note in notes if note.techniques.slide_in]
    if not sliding:
        return room
    left, tab_left = room.left + SLIDE_GAP, room.tab_left + SLIDE_GAP
    return replace(
        room,
        slides_in=tuple((note, -left, -tab_left) for note in sliding),
        left=left + SLIDE_LENGTH,
        tab_left=tab_left + SLIDE_LENGTH,
    )


def _with_rakes(notes: Sequence[Note], room: Beside, strings: int) -> Beside:
    raking = [note for note in notes if note.techniques.rake]
    if not raking:
        return room
    note = raking[0] if raking[0].techniques.rake is Stroke.UP else raking[-1]
    towards = 1 if note.techniques.rake is Stroke.DOWN else -1
    swept = [note.string + towards * away for away in range(1, _RAKED + 1)]
    swept = [string for string in swept if 1 <= string <= strings]
    # The string next to the note is touched last.
    crosses = tuple(
        (string, -(room.tab_left + SMALL_GAP + RAKE_STEP * (place + 0.5)))
        for place, string in enumerate(swept)
    )
    width = SMALL_GAP + RAKE_STEP * len(swept) if swept else 0.0
    return replace(room, rakes=((note, crosses),), tab_left=room.tab_left + width)


def _with_graces(moment: Moment, room: Beside, clef: Clef, signs: Mapping[SignKey, str]) -> Beside:
    """Slots from the column to the left, those of the upper voice nearest to it."""
    slots: list[GraceSlot] = []
    left = max(room.left, room.tab_left)
    for column in moment.columns:
        notes = [head.note for head in column.heads if not head.is_held and head.note.techniques.graces]
        first, together = len(slots), list(_struck_together(notes))
        for group in together:
            heads = _on_both_sides([_grace_head(note, index, clef, signs) for note, index in group])
            # A flag stands over the white to the right of a single grace note.
            flag = 0.55 if len(together) == 1 else 0.0
            half = max(head_width("noteheadBlack") / 2 * GRACE_SCALE, *(_small_half(head) for head in heads))
            axis = left + SMALL_GAP + flag + half + max(head.dx for head in heads)
            slots.append(GraceSlot(-axis, column.voice, tuple(heads)))
            left = axis + half + max(_sign_room(head, heads) for head in heads)
        if together:
            left += 0.1
            # Under the ledger lines of high notes a small stem would run through them.
            high = any(head.step > 9 for slot in slots[first:] for head in slot.heads)
            up = column.voice == 1 or high
            slots[first:] = [replace(slot, up=up) for slot in slots[first:]]
    if not slots:
        return room
    return replace(room, graces=tuple(reversed(slots)), left=left, tab_left=left)


def _struck_together(notes: Sequence[Note]) -> Iterator[list[tuple[Note, int]]]:
    """Grace notes by the slot they share, each with its place in its own row, the nearest slot first.

    Those of a chord are played together, unless two of them would need one string at once.
    """
    rows = {note.id: note.techniques.graces for note in notes}
    depth = max((len(row) for row in rows.values()), default=0)
    groups = [
        [(note, len(rows[note.id]) - back) for note in notes if len(rows[note.id]) >= back]
        for back in range(1, depth + 1)
    ]
    strings = [[rows[note.id][index].place.string for note, index in group] for group in groups]
    if all(len(set(each)) == len(each) for each in strings):
        yield from groups
        return
    for note in notes:
        for index in reversed(range(len(rows[note.id]))):
            yield [(note, index)]


def _small_half(head: GraceHead) -> float:
    return small_fret_width(head.text) / 2


def _on_both_sides(heads: Sequence[GraceHead]) -> list[GraceHead]:
    """Small heads a step apart stand on both sides of their stem; each accidental in a column of its own."""
    placed: list[GraceHead] = []
    heads = sorted(heads, key=lambda head: head.step)
    aside = head_width("noteheadBlack") * GRACE_SCALE - 0.02
    for head in heads:
        near = placed and head.step - placed[-1].step <= 1 and not placed[-1].dx
        placed.append(replace(head, dx=aside) if near else head)
    taken = 0.0
    for index, head in enumerate(placed):
        if head.accidental:
            placed[index] = replace(head, sign_dx=taken)
            taken += glyph(head.accidental).width_sp * GRACE_SCALE + 0.08
    return placed


def _sign_room(head: GraceHead, heads: Sequence[GraceHead]) -> float:
    """For the accidental of a small head, or its ledger line."""
    sign = glyph(head.accidental).width_sp * GRACE_SCALE if head.accidental else 0.0
    return sign + head.sign_dx + small_sign_gap([each.step for each in heads])


def _grace_head(note: Note, index: int, clef: Clef, signs: Mapping[SignKey, str]) -> GraceHead:
    pitch = note.techniques.graces[index].pitch
    return GraceHead(note, index, step_of_pitch(pitch, clef), signs.get(grace_key(note, index)))
