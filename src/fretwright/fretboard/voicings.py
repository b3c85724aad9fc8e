"""Every way to hold a chord on a neck, the easiest first.

    voicings(Chord.parse("Bm"))[0].text   ->   "x24432"

The ranking is exact (:mod:`fretwright.fretboard.voicing_deal` searches); no table of shapes stands behind it.
A voicing

* sounds every tone of the chord that may not be left out, and nothing else;
* has the bass lowest: the note after the slash, or else the root. On a reentrant tuning, which has no bass
  side, a chord without a slash may lie in any inversion; elsewhere inversions are looked for only where the
  root can nowhere be had in the bass;
* leaves strings out at its edges, and at most one inside, which the finger beside it damps;
* leaves out no string that could sound open where others do;
* has a sound grip (:mod:`fretwright.fretboard.voicing_grips`).
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Final

from fretwright.base.errors import FretboardError, UnplayableError
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.reach import MEDIUM, Hand
from fretwright.fretboard.voicing import THUMB, Ease, Frets, Grip, Voicing, frets_text
from fretwright.fretboard.voicing_deal import Deal, Found
from fretwright.fretboard.voicing_grips import POSITION_MM, Measure, grips, measure_for
from fretwright.fretboard.voicing_sound import Wanted, omitted_mm, silent_mm, unison_mm, wanted_of
from fretwright.theory.chord import Chord

DEFAULT_COUNT: Final = 8
_VARIANTS_FOR_EACH: Final = 3
"""So many times the voicings asked for are ranked before variants are left out; more only where needed."""
_ALTERNATIVES: Final = 6
_ALTERNATIVE_WITHIN_MM: Final = 16.0
"""Other fingers are named where they cost no more than this above the easiest, and are no more of them."""


@lru_cache(maxsize=256)
def voicings(
    chord: Chord,
    neck: Neck | None = None,
    *,
    count: int = DEFAULT_COUNT,
    hand: Hand = MEDIUM,
    thumb: bool = False,
    variants: bool = False,
) -> tuple[Voicing, ...]:
    """The ``count`` easiest voicings of a chord, the easiest first; fewer where there are no more.

    A voicing that differs from an easier one on a single string, or on one besides a silent string inside,
    is its variant and is left out unless ``variants`` are asked for; one with a barre is no variant of one
    without.
    Voicings are found without the thumb; with ``thumb`` it is considered for the fingers of each of them.
    Raises :class:`UnplayableError` where nothing can be held, :class:`FretboardError` for a count below 1.
    """
    if count < 1:
        raise FretboardError("No voicing is asked for.", "Ask for at least one.")
    neck = neck or Neck()
    measure = measure_for(neck, hand)
    found = _ranked(neck, measure, wanted_of(chord, neck), count, variants=variants)
    if not found and not chord.is_slash:
        inverted = wanted_of(chord, neck, is_inverted=True)
        found = _ranked(neck, measure, inverted, count, variants=variants)
    if not found:
        raise UnplayableError(
            f"{chord} cannot be held in this tuning.",
            "Leave a note out of the chord, take the bass away, or use another tuning.",
        )
    return tuple(_voicing(chord, neck, measure, frets, thumb=thumb) for frets in found)


def _ranked(neck: Neck, measure: Measure, wanted: Wanted, count: int, *, variants: bool) -> list[Frets]:
    """The frets of the easiest voicings, the easiest first."""
    asked = count if variants else _VARIANTS_FOR_EACH * count
    while True:
        ranked = Deal(neck, measure, wanted, asked).found
        apart = ranked if variants else _apart(ranked)
        if len(apart) >= count or len(ranked) < asked:
            return [each.frets for each in apart[:count]]
        asked *= 2


def _apart(ranked: Sequence[Found]) -> list[Found]:
    """What is left of a ranking without the variants of easier voicings."""
    kept: list[Found] = []
    for found in ranked:
        if not any(_is_variant(found, easier) for easier in kept):
            kept.append(found)
    return kept


def _is_variant(found: Found, easier: Found) -> bool:
    """Whether they differ on one string at most, a silent string inside not counted, and in no barre."""
    if found.has_barre != easier.has_barre:
        return False
    frets = found.frets
    used = [string for string, fret in enumerate(frets) if fret is not None]
    inside = range(used[0], used[-1] + 1)
    differ = [string for string, fret in enumerate(frets) if fret != easier.frets[string]]
    return sum(frets[string] is not None or string not in inside for string in differ) <= 1


def voicing_of(
    chord: Chord,
    frets: Frets,
    neck: Neck | None = None,
    *,
    fingers: tuple[int, ...] | None = None,
    hand: Hand = MEDIUM,
    thumb: bool = False,
) -> Voicing:
    """A voicing from frets that a teacher chose, with the fingers given or else the easiest.

    What sounds is not held against the chord: :mod:`fretwright.fretboard.voicing_names` says what it is.
    Raises :class:`FretboardError` for another number of strings, frets off the neck and silence, and
    :class:`UnplayableError` where no hand of this size can hold it, or not with these fingers.
    """
    neck = neck or Neck()
    if len(frets) != neck.tuning.string_count:
        raise FretboardError(
            f"{frets_text(frets)} has {len(frets)} strings.",
            f"Give a fret or x for each of the {neck.tuning.string_count} strings, from the lowest up.",
        )
    if any(fret is not None and not 0 <= fret <= neck.last_fret for fret in frets):
        raise FretboardError(f"{frets_text(frets)} leaves the neck.", f"Frets go from 0 to {neck.last_fret}.")
    if not any(fret is not None for fret in frets):
        raise FretboardError("A chord without a note cannot be held.", "Give at least one string a fret.")
    measure = measure_for(neck, hand)
    if fingers is None:
        return _voicing(chord, neck, measure, frets, thumb=thumb)
    chosen = [grip for grip in grips(measure, frets, thumb=THUMB in fingers) if grip.fingers == fingers]
    if not chosen:
        raise UnplayableError(
            f"No hand of this size can hold {frets_text(frets)} with these fingers.", "Choose others."
        )
    return _priced(chord, neck, frets, chosen)


def _voicing(chord: Chord, neck: Neck, measure: Measure, frets: Frets, *, thumb: bool) -> Voicing:
    """Frets with their easiest grip and the others that are near it, priced in full."""
    found = grips(measure, frets, thumb=thumb)
    if not found:
        raise UnplayableError(
            f"No hand of this size can hold {frets_text(frets)}.", "Bring the frets closer together."
        )
    best = found[0].ease
    near = [
        grip
        for grip in found
        if grip.ease.total <= best.total + _ALTERNATIVE_WITHIN_MM and grip.ease.fingers <= best.fingers
    ]
    return _priced(chord, neck, frets, near[: _ALTERNATIVES + 1])


def _priced(chord: Chord, neck: Neck, frets: Frets, found: Sequence[Grip]) -> Voicing:
    """A voicing of these grips, the easiest first, with all that they cost."""
    wanted = wanted_of(chord, neck)
    pitches = [
        neck.midi_at(Place(string, fret)) for string, fret in enumerate(frets, start=1) if fret is not None
    ]
    priced = [replace(grip, ease=_in_full(grip, frets, pitches, wanted)) for grip in found]
    return Voicing(chord, neck, frets, priced[0], tuple(priced[1:]))


def _in_full(grip: Grip, frets: Frets, pitches: list[int], wanted: Wanted) -> Ease:
    """The ease of a grip with what the place on the neck and the sound cost."""
    lowest = min((fret for fret in frets if fret), default=1)
    return replace(
        grip.ease,
        position=POSITION_MM * (lowest - 1),
        silent=silent_mm(frets, wanted),
        unison=unison_mm(pitches),
        omitted=omitted_mm(frozenset(pitch % 12 for pitch in pitches), wanted),
    )
