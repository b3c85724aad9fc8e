"""The rules of a voicing, told by other means than the search's: for tests of it, and for its benchmark."""

from collections.abc import Iterator
from itertools import combinations

from fretwright.fretboard.neck import Place
from fretwright.fretboard.reach import Hand
from fretwright.fretboard.voicing import Voicing


def breaks_of(voicing: Voicing, hand: Hand) -> list[str]:
    """Everything about a voicing that the rules forbid."""
    return [*_sound(voicing), *_fingers(voicing, hand), *_barres(voicing)]


def _sound(voicing: Voicing) -> Iterator[str]:
    chord, neck = voicing.chord, voicing.neck
    sounding = [neck.midi_at(place) for place in voicing.places]
    root = chord.root.pitch_class
    may_go = {(root + degree.semitones) % 12 for degree in chord.quality.omittable | chord.quality.avoided}
    tones = {note.pitch_class for note in chord.notes}
    classes = {midi % 12 for midi in sounding}
    if not classes <= chord.pitch_classes:
        yield "a foreign note"
    if not (chord.pitch_classes - may_go) | {chord.bass.pitch_class} <= classes:
        yield "a tone is missing"
    avoided = {(root + degree.semitones) % 12 for degree in chord.quality.avoided} - {chord.bass.pitch_class}
    if classes & avoided:
        yield "an avoided tone"
    bass = chord.bass.pitch_class
    if not (neck.tuning.is_reentrant and not chord.is_slash) and min(sounding) % 12 != bass:
        yield "another bass"
    if bass not in tones and sum(midi % 12 == bass for midi in sounding) > 1:
        yield "a foreign bass above"
    used = [string for string, fret in enumerate(voicing.frets, start=1) if fret is not None]
    if len(used) < 3:
        yield "too few strings"
    if max(used) - min(used) + 1 - len(used) > 1:
        yield "more than one gap"


def _fingers(voicing: Voicing, hand: Hand) -> Iterator[str]:
    frets_of: dict[int, set[int]] = {}
    for fret, finger in zip(voicing.frets, voicing.fingers, strict=True):
        if bool(fret) != bool(finger):
            yield "a finger too many or too few"
        if fret and finger:
            frets_of.setdefault(finger, set()).add(fret)
    if any(len(frets) > 1 for frets in frets_of.values()):
        yield "one finger on two frets"
    for one, other in combinations(sorted(frets_of), 2):
        low, high = (Place(1, min(frets_of[finger])) for finger in (one, other))
        if low.fret > high.fret:
            yield "crossed fingers"
        span_mm = abs(voicing.neck.finger_point_mm(low)[0] - voicing.neck.finger_point_mm(high)[0])
        if span_mm > hand.spread(one, other).largest_mm + 1e-9:
            yield "out of reach"


def _barres(voicing: Voicing) -> Iterator[str]:
    for barre in voicing.barres:
        under = voicing.frets[barre.high_string - 1 : barre.low_string]
        beyond = [fret for fret in voicing.frets[: barre.high_string - 1] if fret is not None]
        if any((fret or 0) < barre.fret for fret in under):
            yield "a barre that stops a string"
        if barre.width > 3 and (barre.finger != 1 or any(fret < barre.fret for fret in beyond)):
            yield "too wide a barre"


def wastes_an_open_string(voicing: Voicing) -> bool:
    """Whether a silent string could ring beside open ones and leave the bass and the chord what they are."""
    chord, neck = voicing.chord, voicing.neck
    if 0 not in voicing.frets or chord.is_power:
        return False
    tones = {note.pitch_class for note in chord.notes}
    lowest = min(neck.midi_at(place) for place in voicing.places)
    for string, fret in enumerate(voicing.frets, start=1):
        rings = neck.midi_at(Place(string, 0))
        if fret is None and rings % 12 in tones and (rings > lowest or rings % 12 == chord.bass.pitch_class):
            return True
    return False
