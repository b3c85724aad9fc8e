"""Dealing a chord out to the strings: every voicing within reach, priced, the best kept.

The search walks up the neck fret by fret. With the lowest stopped fret fixed it deals the strings out from
the lowest to the highest, each open, stopped within the hand's reach, or silent, and gives up a branch as
soon as it must cost more than the worst of the voicings that are wanted (branch and bound; Land and Doig
1960). What is left is the exact ranking, not a sample.
"""

from bisect import insort
from typing import Final, NamedTuple

from fretwright.fretboard.neck import Neck
from fretwright.fretboard.tuning import MAX_STRINGS
from fretwright.fretboard.voicing import Frets
from fretwright.fretboard.voicing_grips import (
    BARRE_MM,
    BARRE_STRING_MM,
    FINGER_MM,
    MOST_FINGERS,
    POSITION_MM,
    WEAK_MM_OF,
    Measure,
    cheapest,
)
from fretwright.fretboard.voicing_sound import (
    SILENT_INSIDE_MM,
    Wanted,
    above_mm,
    below_mm,
    omitted_mm,
    silent_mm,
    unison_mm,
)

FEWEST_STRINGS: Final = 3
_NO_LIMIT: Final = 1e9
_SILENT_LAST: Final = 99


class Found(NamedTuple):
    """A voicing that can be held."""

    cost_mm: float
    order: tuple[int, ...]
    """The frets from the lowest string up, silent last: ties are broken alike on every machine."""
    frets: Frets
    has_barre: bool


class _Hand(NamedTuple):
    """Frets dealt out so far, from the lowest string up; None is silent."""

    frets: tuple[int | None, ...]
    sounding: int
    """Pitch classes that sound, a bit for each."""
    touches: int
    """Fingers that are needed at the least: one for each stop that no finger already down could lie over."""
    shared: int
    """Stops that a finger already down could lie over."""
    live: int
    """A bit for each fret whose finger could lie over the next string: every string since sounds no lower."""
    has_lowest: bool
    """Whether some string is stopped at the lowest fret of the window."""
    silent_run: int
    """Silent strings since the last one that sounds."""
    has_gap: bool
    """Whether a string inside is silent."""
    silence_mm: float
    """What silent strings cost at least."""


_EMPTY: Final = _Hand((), 0, 0, 0, 0, has_lowest=False, silent_run=0, has_gap=False, silence_mm=0.0)


def _least_mm(touches: int, shared: int) -> float:
    """The least that so many touches and shared stops can cost: a finger for each, or one finger flat."""
    flat_mm = FINGER_MM * touches + WEAK_MM_OF[touches] + BARRE_MM + BARRE_STRING_MM * (1 + shared)
    stops = touches + shared
    if stops > MOST_FINGERS:
        return flat_mm
    apart_mm = FINGER_MM * stops + WEAK_MM_OF[stops]
    return min(apart_mm, flat_mm) if shared else apart_mm


_LEAST_MM: Final = tuple(
    tuple(_least_mm(touches, shared) for shared in range(MAX_STRINGS + 1))
    for touches in range(MOST_FINGERS + 1)
)


class Deal:
    """One search; the voicings are in ``found``, the easiest first."""

    def __init__(self, neck: Neck, measure: Measure, wanted: Wanted, count: int) -> None:
        self.found: list[Found] = []
        self._measure = measure
        self._wanted = wanted
        self._needed = sum(1 << pitch_class for pitch_class in wanted.needed)
        """A bit for each pitch class that must sound."""
        self._count = count
        self._opens = [pitch.midi + neck.capo for pitch in reversed(neck.tuning.open_pitches)]
        self._is_rising = not neck.tuning.is_reentrant
        self._fewest = min(FEWEST_STRINGS, len(self._opens))
        self._resuming_mm = SILENT_INSIDE_MM - above_mm(1, wanted)
        """What a silent string costs more once it turns out to lie inside."""
        self._limit_mm = _NO_LIMIT
        self._choices: list[list[tuple[int, int]]] = []
        """For each string its open and stopped frets in the present window, with their pitch classes."""
        self._position_mm = 0.0
        self._lowest = 0
        self._last_with_lowest = -1
        """The last string, as dealt, that can be stopped at the lowest fret of the window."""
        for lowest in range(neck.last_fret + 1):
            self._position_mm = POSITION_MM * max(lowest - 1, 0)
            if self._position_mm + (FINGER_MM if lowest else 0.0) >= self._limit_mm:
                break
            self._lowest = lowest
            self._choices = [self._choices_of(midi) for midi in self._opens]
            self._last_with_lowest = max(
                (
                    dealt
                    for dealt, choices in enumerate(self._choices)
                    if any(fret == lowest for fret, _ in choices)
                ),
                default=-1,
            )
            self._deal(_EMPTY)

    def _choices_of(self, open_midi: int) -> list[tuple[int, int]]:
        frets = range(self._lowest, self._measure.top_fret[self._lowest] + 1) if self._lowest else range(0)
        allowed = self._wanted.allowed
        return [(fret, (open_midi + fret) % 12) for fret in (0, *frets) if (open_midi + fret) % 12 in allowed]

    def _deal(self, hand: _Hand) -> None:
        """Deal the next string out in every way, or look at the finished voicing."""
        dealt = len(hand.frets)
        left = len(self._opens) - dealt
        if (self._needed & ~hand.sounding).bit_count() > left:
            return
        if not hand.has_lowest and dealt > self._last_with_lowest:
            return
        hand_mm = _LEAST_MM[hand.touches][hand.shared]
        if self._position_mm + hand.silence_mm + hand_mm >= self._limit_mm:
            return
        if not left:
            self._finish(hand)
            return
        may_sound = hand.silent_run == 0 or not hand.sounding or (hand.silent_run == 1 and not hand.has_gap)
        full = hand.touches == MOST_FINGERS
        for fret, pitch_class in self._choices[dealt] if may_sound else ():
            if full and fret and not hand.live >> fret & 1:
                continue
            if self._fits(hand, pitch_class):
                self._deal(self._with_stop(hand, fret, pitch_class))
        self._deal(self._with_silence(hand))

    def _fits(self, hand: _Hand, pitch_class: int) -> bool:
        """Whether the bass stays what it is asked to be, on a tuning whose strings rise."""
        wanted = self._wanted
        if wanted.bass is None or not self._is_rising:
            return True
        is_bass = pitch_class == wanted.bass
        return not (wanted.bass_is_foreign and is_bass) if hand.sounding else is_bass

    def _with_stop(self, hand: _Hand, fret: int, pitch_class: int) -> _Hand:
        """The next string open or stopped."""
        has_gap_here = hand.sounding > 0 and hand.silent_run > 0
        shares = bool(fret and hand.live >> fret & 1)
        return _Hand(
            frets=(*hand.frets, fret),
            sounding=hand.sounding | 1 << pitch_class,
            touches=hand.touches + (fret > 0 and not shares),
            shared=hand.shared + shares,
            live=hand.live & (1 << fret) - 1 | 1 << fret if fret else 0,
            has_lowest=hand.has_lowest or fret == self._lowest,
            silent_run=0,
            has_gap=hand.has_gap or has_gap_here,
            silence_mm=hand.silence_mm + (self._resuming_mm if has_gap_here else 0.0),
        )

    def _with_silence(self, hand: _Hand) -> _Hand:
        """The next string left out, at the least that it can cost: inside is dearer than above."""
        run = hand.silent_run + 1
        price_mm = above_mm if hand.sounding else below_mm
        more_mm = price_mm(run, self._wanted) - price_mm(run - 1, self._wanted)
        return hand._replace(
            frets=(*hand.frets, None), live=0, silent_run=run, silence_mm=hand.silence_mm + more_mm
        )

    def _finish(self, hand: _Hand) -> None:
        """Keep a finished voicing if it sounds right, can be held, and is among the best."""
        pitches = [
            midi + fret for midi, fret in zip(self._opens, hand.frets, strict=True) if fret is not None
        ]
        if not hand.has_lowest or not self._sounds_right(hand, pitches):
            return
        frets = hand.frets[::-1]
        sound_mm = (
            self._position_mm
            + silent_mm(frets, self._wanted)
            + omitted_mm(frozenset(pitch % 12 for pitch in pitches), self._wanted)
            + unison_mm(pitches)
        )
        if sound_mm + _LEAST_MM[hand.touches][hand.shared] >= self._limit_mm:
            return
        taken = cheapest(self._measure, frets)
        if taken is None:
            return
        order = tuple(_SILENT_LAST if fret is None else fret for fret in hand.frets)
        has_barre = any(contact.is_flat for contact in taken.contacts)
        insort(self.found, Found(round(sound_mm + taken.cost_mm, 6), order, frets, has_barre))
        del self.found[self._count :]
        if len(self.found) == self._count:
            self._limit_mm = self.found[-1].cost_mm + 1e-6

    def _sounds_right(self, hand: _Hand, pitches: list[int]) -> bool:
        """Whether enough strings sound, the bass is lowest, and no open string is left out for nothing."""
        wanted = self._wanted
        if len(pitches) < self._fewest:
            return False
        lowest = min(pitches)
        if wanted.bass is not None:
            if lowest % 12 != wanted.bass:
                return False
            if wanted.bass_is_foreign and sum(pitch % 12 == wanted.bass for pitch in pitches) > 1:
                return False
        return wanted.silence_is_free or 0 not in hand.frets or not self._wastes_open(hand, lowest)

    def _wastes_open(self, hand: _Hand, lowest: int) -> bool:
        """Whether a silent string could sound open as others do, and leave the bass what it is."""
        wanted = self._wanted
        for midi, fret in zip(self._opens, hand.frets, strict=True):
            if fret is not None or midi % 12 not in wanted.allowed:
                continue
            is_bass = midi % 12 == wanted.bass
            if is_bass if midi < lowest else not (wanted.bass_is_foreign and is_bass):
                return True
        return False
