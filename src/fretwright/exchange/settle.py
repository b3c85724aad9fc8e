"""A place for every note: the file's own where it names one, else the one that costs a hand least.

The pitch rules. A string and a fret that sound another pitch are not believed; a pitch that the neck does not
have is moved by octaves; of notes that no hand can hold together the inner ones are left out. Each of these
is said as a finding.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from typing import Final

from fretwright.base.errors import ExchangeError, UnplayableError
from fretwright.exchange.asked import harmonic_at, harmonic_midi
from fretwright.exchange.draft import Draft, DraftNote
from fretwright.exchange.losses import Losses
from fretwright.fingering.places import PitchedNote, choose_places
from fretwright.fretboard.neck import Neck, Place
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch

_LONGEST_SEARCH: Final = 400
"""Moments that are searched at once; a longer piece is searched in stretches."""


def settled(draft: Draft, losses: Losses) -> tuple[DraftNote, ...]:
    """The notes of a draft, each with a place, in order of onset and then from the lowest string up.

    Raises :class:`~fretwright.base.errors.ExchangeError` where no hand can play the line at all.
    """
    neck = draft.neck
    notes = [_on_neck(_believed(note, neck, losses), neck, losses) for note in draft.notes]
    moments = [list(group) for _, group in groupby(sorted(notes, key=_when), key=lambda note: note.onset)]
    placed: list[DraftNote] = []
    stretch: list[DraftNote] = []
    count = 0
    for moment in moments:
        own = _without_clash(moment)
        if own is not None:
            placed += own
            continue
        stretch += _playable(moment, neck, losses)
        count += 1
        if count == _LONGEST_SEARCH:
            placed += _searched(stretch, neck)
            stretch, count = [], 0
    placed += _searched(stretch, neck)
    if any(note.finger is not None for note in notes) and not any(note.finger is not None for note in placed):
        losses.left_out("fingers of notes whose string is not given", draft.span)
    placed.sort(key=lambda note: (note.onset, -_place(note).string))
    return _one_at_a_time(placed, losses)


def _when(note: DraftNote) -> tuple[Fraction, int]:
    return note.onset, note.pitch.midi


def _place(note: DraftNote) -> Place:
    if note.place is None:  # every note has been given one
        raise ExchangeError("A note was left without a place.")
    return note.place


def _believed(note: DraftNote, neck: Neck, losses: Losses) -> DraftNote:
    """The note without a place that does not exist or sounds otherwise."""
    if note.place is None:
        return note
    if neck.holds(note.place):
        harmonic = harmonic_at(note.asked, note.place)
        if harmonic is not None:
            # Files give a sounding, a touched or an open pitch: the place says which one sounds.
            sounding = harmonic_midi(harmonic, note.place.string, neck)
            is_named = sounding == note.pitch.midi
            return note if is_named else replace(note, pitch=Key(0).spell(sounding))
        if neck.midi_at(note.place) == note.pitch.midi:
            return note
    losses.add(
        "place-contradicts-pitch",
        note.span,
        f"{str(note.place).capitalize()} does not sound {note.pitch} on this neck; the pitch was kept.",
        "Give the file's own tuning with --tuning, or mend the frets.",
    )
    return replace(note, place=None, finger=None)


def _on_neck(note: DraftNote, neck: Neck, losses: Losses) -> DraftNote:
    """The note, moved by octaves where the neck does not have it."""
    if note.place is not None or neck.places_of(note.pitch.midi):
        return note
    opens = [pitch.midi + neck.capo for pitch in neck.tuning.open_pitches]
    step = 1 if note.pitch.midi < min(opens) else -1
    for octaves in range(1, 11):
        pitch = Pitch(note.pitch.name, note.pitch.octave + step * octaves)
        if neck.places_of(pitch.midi):
            losses.add(
                "octave-moved",
                note.span,
                f"{note.pitch} is not on this neck and was moved to {pitch}.",
                "Move the whole part with --octaves, or choose another --tuning.",
            )
            return replace(note, pitch=pitch)
    raise ExchangeError(f"{note.pitch} is in no octave on this neck.", "Choose another --tuning.")


def _without_clash(moment: Sequence[DraftNote]) -> list[DraftNote] | None:
    """The notes of a moment if all have places of their own, on different strings."""
    strings = {note.place.string for note in moment if note.place is not None}
    return list(moment) if len(strings) == len(moment) else None


def _playable(moment: Sequence[DraftNote], neck: Neck, losses: Losses) -> list[DraftNote]:
    """As many notes of a moment as one hand can hold; bass and melody stay."""
    kept = list({note.pitch.midi: note for note in moment}.values())
    while len(kept) > 1 and not _can_hold(kept, neck):
        # Of the inner notes the one goes first whose name sounds in another octave as well.
        names = [note.pitch.midi % 12 for note in kept]
        inner = range(1, len(kept) - 1) if len(kept) > 2 else range(1)
        index = max(inner, key=lambda i: (names.count(names[i]), -i))
        note = kept.pop(index)
        losses.add(
            "note-left-out",
            note.span,
            f"{note.pitch} was left out: no hand can hold it with the others.",
            "Write the chord as the hand can play it.",
        )
    return kept


def _can_hold(notes: Sequence[DraftNote], neck: Neck) -> bool:
    if len(notes) > neck.tuning.string_count:
        return False
    try:
        choose_places([PitchedNote(Fraction(0), Fraction(1, 4), note.pitch.midi) for note in notes], neck)
    except UnplayableError:
        return False
    return True


def _searched(notes: Sequence[DraftNote], neck: Neck) -> Iterable[DraftNote]:
    if not notes:
        return ()
    try:
        places = choose_places(
            [PitchedNote(note.onset, note.duration, note.pitch.midi) for note in notes], neck
        )
    except UnplayableError as error:
        raise ExchangeError(error.message, error.mend) from error
    return [
        replace(note, place=place, finger=note.finger if note.place == place else None)
        for note, place in zip(notes, places, strict=True)
    ]


def _one_at_a_time(notes: Sequence[DraftNote], losses: Losses) -> tuple[DraftNote, ...]:
    """A string sounds one note: each ends where the next one on its string starts."""
    following: dict[int, Fraction] = {}
    ended: list[DraftNote] = []
    for note in reversed(notes):
        string = _place(note).string
        until = following.get(string)
        if until is not None and note.end > until:
            losses.add(
                "note-cut-short",
                note.span,
                f"{note.pitch} is held while its string is played again; it ends there.",
                "Put one of the two on another string.",
            )
            ended.append(replace(note, duration=until - note.onset, values=()))
        else:
            ended.append(note)
        following[string] = note.onset
    return tuple(reversed(ended))
