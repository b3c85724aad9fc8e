"""From placed notes to bars of events, which the score layer puts together.

A bar is cut into slices wherever a note starts or stops. In each slice all that sounds has one value: what
goes on from before is tied. A slice that is just one written sign of the file keeps that sign; any other is
written as the meter asks.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, pairwise

from fretwright.base.errors import ExchangeError, ScoreError
from fretwright.exchange.asked import techniques_at
from fretwright.exchange.draft import Draft, DraftBar, DraftNote, DraftRest
from fretwright.exchange.losses import Losses
from fretwright.exchange.spelling import spell
from fretwright.fretboard.neck import Neck
from fretwright.score.assemble import BarOfEvents, Event, Head
from fretwright.score.note import Attack
from fretwright.score.techniques import PLAIN
from fretwright.score.values import Value
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale


def in_one_row(notes: Sequence[DraftNote], losses: Losses) -> tuple[DraftNote, ...]:
    """The notes as one row of rhythm has them: all that start together last as long, up to the next ones."""
    onsets = sorted({note.onset for note in notes})
    following = dict(pairwise(onsets))
    longest: dict[Fraction, DraftNote] = {}
    for note in notes:
        if note.onset not in longest or note.end > longest[note.onset].end:
            longest[note.onset] = note
    row: list[DraftNote] = []
    for note in notes:
        model = longest[note.onset]
        until = following.get(note.onset)
        end = model.end if until is None else min(model.end, until)
        if end < note.end:
            losses.add(
                "held-note-cut",
                note.span,
                f"{note.pitch} is held over the next note; in one row of rhythm it ends there.",
                'Write "let ring" in words where it matters.',
            )
        duration = end - note.onset
        row.append(
            replace(note, duration=duration, values=model.values if duration == model.duration else ())
        )
    return tuple(row)


def bars_of_events(draft: Draft, notes: Sequence[DraftNote], losses: Losses) -> Iterator[BarOfEvents]:
    """The bars of a draft with its placed notes.

    A bar whose lengths have no written values comes out empty, with a finding that says so.
    """
    spelling = draft.scale or draft.key
    upper, lower = (
        _Cutter(
            [note for note in notes if note.voice == voice],
            [rest for rest in draft.rests if rest.voice == voice],
            draft.neck,
            spelling,
            losses,
        )
        for voice in (1, 2)
    )
    for bar in draft.bars:
        try:
            events = tuple(upper.events(bar))
            below = tuple(lower.events(bar)) if lower.has_signs(bar) else ()
        except ScoreError as error:
            losses.add(
                "bar-cannot-be-written",
                bar.span,
                f"{error.message[:1].upper()}{error.message[1:]}; the bar was left empty.",
                "Simplify its rhythm.",
                what=str(bar.start),
            )
            upper.drop(bar)
            lower.drop(bar)
            below = ()
            events = tuple(Event(value) for value in spell(bar.meter, Fraction(0), bar.length))
        yield BarOfEvents(
            events, bar.meter, bar.is_pickup, bar.opens_repeat, bar.closes_repeat, bar.endings, below
        )


@dataclass(frozen=True, slots=True)
class _Sign:
    """One written head, or one rest."""

    start: Fraction
    value: Value


class _Cutter:
    """Cuts bars into events, one after the other."""

    def __init__(
        self,
        notes: Sequence[DraftNote],
        rests: Sequence[DraftRest],
        neck: Neck,
        spelling: Key | Scale,
        losses: Losses,
    ) -> None:
        self._notes = list(notes)
        self._neck = neck
        self._spelling = spelling
        self._losses = losses
        self._rests: dict[Fraction, list[Value]] = {}
        for rest in rests:
            self._rests.setdefault(rest.onset, []).append(rest.value)
        self._sounding: list[DraftNote] = []
        self._next = 0
        self._last_on: dict[int, DraftNote] = {}

    def events(self, bar: DraftBar) -> Iterator[Event]:
        """The events of the next bar."""
        self._sounding = [note for note in self._sounding if note.end > bar.start]
        while self._next < len(self._notes) and self._notes[self._next].onset < bar.end:
            self._sounding.append(self._notes[self._next])
            self._next += 1
        signs = [sign for note in self._sounding for sign in _signs(note)]
        written = {(sign.start, sign.value.duration): sign.value for sign in reversed(signs)}
        for start, end in pairwise(self._cuts(bar, signs)):
            heard = [note for note in self._sounding if note.onset <= start and note.end >= end]
            if not heard:
                yield from self._silence(bar, start, end)
                continue
            own = written.get((start, end - start))
            values = (own,) if own is not None else _spelled(bar, start, end)
            at = start
            for value in values:
                yield Event(value, tuple(self._head(note, at) for note in heard), heard[0].span)
                at += value.duration

    def has_signs(self, bar: DraftBar) -> bool:
        """Whether anything of this voice sounds or is written in a bar."""
        goes_on = any(note.end > bar.start for note in self._sounding)
        starts = self._next < len(self._notes) and self._notes[self._next].onset < bar.end
        return goes_on or starts or any(bar.start <= onset < bar.end for onset in self._rests)

    def drop(self, bar: DraftBar) -> None:
        """Let a bar's notes go, so that none is tied over from it."""
        self._sounding = []
        self._last_on = {}
        while self._next < len(self._notes) and self._notes[self._next].onset < bar.end:
            self._next += 1

    def _cuts(self, bar: DraftBar, signs: Sequence[_Sign]) -> list[Fraction]:
        cuts = {bar.start, bar.end}
        for note in self._sounding:
            cuts |= {note.onset, note.end}
        cuts |= {sign.start for sign in signs}
        return sorted(cut for cut in cuts if bar.start <= cut <= bar.end)

    def _silence(self, bar: DraftBar, start: Fraction, end: Fraction) -> Iterator[Event]:
        """Rests as the file writes them, as far as they fit."""
        at = start
        while at < end:
            fitting = [value for value in self._rests.get(at, ()) if at + value.duration <= end]
            if not fitting:
                yield from (Event(value) for value in _spelled(bar, at, end))
                return
            longest = max(fitting, key=lambda value: value.duration)
            yield Event(longest)
            at += longest.duration

    def _head(self, note: DraftNote, at: Fraction) -> Head:
        if note.place is None:
            raise ExchangeError("A note was left without a place.")
        attack = note.attack
        if at == note.onset:
            attack = self._attack(note, note.place.string)
            self._last_on[note.place.string] = note
        techniques = PLAIN
        if at == note.onset:
            techniques = techniques_at(
                note.asked, note.place, self._neck, self._spelling, self._losses, note.span
            )
        return Head(
            place=note.place,
            pitch=note.pitch,
            attack=attack,
            finger=note.finger,
            stroke=note.stroke,
            tied=at > note.onset,
            source=note.span,
            techniques=techniques,
            picking_finger=note.asked.picking_finger if at == note.onset else None,
        )

    def _attack(self, note: DraftNote, string: int) -> Attack:
        """How a note starts, seen from what sounded before it on its string."""
        before = self._last_on.get(string)
        joins = before is not None and before.end == note.onset and before.place != note.place
        if before is not None and joins and note.in_slur and note.attack is Attack.PLUCK:
            return Attack.HAMMER_ON if note.pitch.midi > before.pitch.midi else Attack.PULL_OFF
        graces = note.asked.graces
        if graces and graces[-1].is_slurred_on and note.attack.is_slur:
            return note.attack
        is_known = before is not None and note.slurred_from == before.onset
        if not note.attack.is_slur or joins or is_known:
            return note.attack
        self._losses.add(
            "slur-not-kept",
            note.span,
            f"The {note.attack.value} to {note.pitch} has no note before it on its string; it is plucked.",
            "Put both notes on one string.",
        )
        return Attack.PLUCK


def _signs(note: DraftNote) -> list[_Sign]:
    starts = accumulate((value.duration for value in note.values), initial=note.onset)
    return [_Sign(start, value) for start, value in zip(starts, note.values, strict=False)]


def _spelled(bar: DraftBar, start: Fraction, end: Fraction) -> tuple[Value, ...]:
    # A pickup is the end of a full bar: its places rank as they do there.
    missing = bar.meter.length - bar.length if bar.is_pickup else Fraction(0)
    return spell(bar.meter, start - bar.start + missing, end - start)
