"""``keys`` and ``positions``: one block that stands for several exercises.

Each of them is the block with other values for a few keys, and from there on an exercise like any other,
with a notebook page, a check and fingers of its own.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from fretwright.base.errors import FretwrightError, NotationError
from fretwright.course.chordmove import moved_chords
from fretwright.course.entries import Entries, Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.course.rule import places_of_shape
from fretwright.course.settings import Settings, read_settings
from fretwright.course.values import refuse
from fretwright.fretboard.neck import Neck
from fretwright.theory.key import Key, simplest
from fretwright.theory.pitch import NoteName
from fretwright.theory.scale import Scale, plain_name

_CIRCLES: Final = {"circle of fourths": 5, "circle of fifths": 7}
"""Semitones from one key to the next."""
_SAME_POSITION = re.compile(r",?\s*(?:in\s+)?(?:the\s+)?same\s+position$", re.IGNORECASE)
_OCTAVE_FRETS: Final = 12
_LIMITS: Final = ("lowest", "highest")


@dataclass(frozen=True, slots=True)
class Variant:
    """One of the exercises that a block stands for."""

    suffix: str
    """What is added to the id (``in-b-flat``); empty where the block stands for one exercise."""
    words: str
    """What is added to the title (``in B flat``)."""
    entries: Entries


def variants_of(
    entries: Entries, course_neck: Neck, notebook: Notebook, *, by_chords: bool = False
) -> tuple[Variant, ...]:
    """The exercises that a block stands for: in each key, at each position, or at each position in each key.

    ``by_chords`` is whether it has its notes from chords.

    Where ``keys`` or ``positions`` has a mistake it is the block as it stands, so that building it finds
    what else is wrong.
    """
    plain = (Variant("", "", entries),)
    entry = entries.get("keys") or entries.get("positions")
    if entry is None or entry.is_empty:
        return plain
    _refuse_clashes(entries, notebook)
    aside = Notebook()
    settings = read_settings(entries, course_neck, aside)
    by_rule = "scale" in entries and "tab" not in entries and not by_chords
    if notebook.is_broken or aside.is_broken or not (by_rule or "keys" in entries):
        return plain
    if "keys" not in entries:
        return tuple(_at_positions(entry, entries, settings, notebook)) or plain
    in_keys = tuple(_in_keys(entry, entries, settings, notebook, by_chords=by_chords)) or plain
    if "positions" not in entries or in_keys == plain:
        return in_keys
    return tuple(_at_positions_in(in_keys, course_neck, notebook)) or plain


def _at_positions_in(
    in_keys: tuple[Variant, ...], course_neck: Neck, notebook: Notebook
) -> Iterator[Variant]:
    """Every position in every key."""
    for key in in_keys:
        settings = read_settings(key.entries, course_neck, Notebook())
        for place in _at_positions(key.entries["positions"], key.entries, settings, notebook):
            words = f"{key.words}, {place.words}"
            yield Variant(f"{key.suffix}-{place.suffix}", words, place.entries)
        if notebook.is_broken:  # what is wrong with the positions is so in every key
            return


def _refuse_clashes(entries: Entries, notebook: Notebook) -> None:
    keys_of_rule = "keys" in entries and "tab" not in entries
    for one, other in (("keys", "move"), ("positions", "position"), ("keys", "voicings")):
        if {one, other} <= entries.keys():
            message = f'"{one}" makes several exercises, and "{other}" fits one of them alone.'
            notebook.error("keys-clash", entries[one].key, message, "Keep one of the two.")
    for name in _LIMITS:
        if keys_of_rule and name in entries and entries[name].text.strip().lower() != "root":
            message = f"{quoted(entries[name].text)} does not belong to every key."
            notebook.error("bad-value", entries[name].span, message, 'Write "root".')


def _in_keys(
    entry: Entry, entries: Entries, settings: Settings, notebook: Notebook, *, by_chords: bool
) -> Iterator[Variant]:
    text = " ".join(entry.text.lower().split())
    tail = _SAME_POSITION.search(text)
    if not {"key", "scale"} & entries.keys():
        message = "The exercise does not say which key it is moved from."
        notebook.error("missing-key", entry.key, message, 'Add "key: A minor", the key that is written.')
        return
    if tail and ("tab" in entries or by_chords or settings.position is None):
        message = "A hand keeps its position only where a rule has one to keep."
        mend = 'Leave "same position" out, or write a scale with a position.'
        notebook.error("bad-value", entry.span, message, mend)
        return
    home = settings.scale.tonic if settings.scale is not None else settings.key.tonic
    for tonic in _tonics(entry, text[: tail.start()] if tail else text, settings, notebook):
        if "tab" in entries:
            own = {"move": _written(entry, f"to {tonic}")}
        else:
            own = _rule_in(tonic, home, entries, settings, stays=tail is not None)
        spoken = tonic.spoken
        yield Variant(f"in-{spoken.lower().replace(' ', '-')}", f"in {spoken}", {**entries, **own})


def _tonics(entry: Entry, text: str, settings: Settings, notebook: Notebook) -> tuple[NoteName, ...]:
    home = settings.scale.tonic if settings.scale is not None else settings.key.tonic
    if text in _CIRCLES:
        step = _CIRCLES[text]
        around = (home.pitch_class + step * nth for nth in range(1, 12))
        return (home, *(_plainest(pitch_class, settings) for pitch_class in around))
    tonics: list[NoteName] = []
    named = [part for part in entry.parts() if _SAME_POSITION.sub("", part.text)] or [entry.span]
    for part in named:
        written = _SAME_POSITION.sub("", part.text)
        try:
            tonic = NoteName.parse(written)
        except NotationError:
            message = f"{quoted(part.text)} is no row of keys."
            mend = 'Write "circle of fourths", "circle of fifths", or keynotes such as "A, D, G".'
            notebook.error("bad-value", part, message, mend)
            return ()
        if tonic in tonics:
            notebook.error("bad-value", part, f"{tonic} is named twice.", "Delete one of the two.")
            return ()
        tonics.append(tonic)
    return tuple(tonics)


def _plainest(pitch_class: int, settings: Settings) -> NoteName:
    """The name of a keynote whose signature has the fewest accidentals; of two alike the one with flats."""
    scale = settings.scale if settings.scale is not None else settings.key.scale
    names = (plain_name(pitch_class, sharps=False), plain_name(pitch_class, sharps=True))
    scales = [Scale(name, scale.kind) for name in names]
    written = [one for one in scales if simplest(one) == one] or [simplest(scales[0])]
    return min(written, key=lambda one: abs(Key.of_scale(one).fifths)).tonic


def _rule_in(
    tonic: NoteName, home: NoteName, entries: Entries, settings: Settings, *, stays: bool
) -> dict[str, Entry]:
    """What a rule says in another key: its scale, its signature, and where on the neck."""
    interval = home.interval_to(tonic)
    own: dict[str, Entry] = {}
    if settings.scale is not None:
        own["scale"] = _written(entries["scale"], f"{tonic} {settings.scale.kind.name}")
    own |= moved_chords(entries, interval)
    if "key" in entries:
        mode = "minor" if settings.key.minor else "major"
        written = Scale(settings.key.tonic.transposed(interval), settings.key.scale.kind)
        own["key"] = _written(entries["key"], f"{simplest(written).tonic} {mode}")
    shift = interval.semitones % _OCTAVE_FRETS
    if settings.position is not None and shift and not stays:
        position = (settings.position + shift - 1) % _OCTAVE_FRETS + 1
        own["position"] = _written(entries["position"], str(position))
    return own


def _at_positions(
    entry: Entry, entries: Entries, settings: Settings, notebook: Notebook
) -> Iterator[Variant]:
    for position in _positions(entry, entries, settings, notebook):
        words = f"at position {position}" if position else "in open position"
        own = {"position": _written(entry, str(position))}
        yield Variant(f"at-{position or 'open'}", words, {**entries, **own})


def _positions(entry: Entry, entries: Entries, settings: Settings, notebook: Notebook) -> tuple[int, ...]:
    if entry.text.strip().lower() != "all":
        parts = entry.parts()
        numbers = [part.text for part in parts if re.fullmatch(r"[0-9]{1,2}", part.text)]
        if parts and len(numbers) == len(parts) == len(set(numbers)):
            return tuple(int(number) for number in numbers)
        refuse(entry, 'Write "all", or frets of the first finger, each once, such as "2, 5, 7".', notebook)
        return ()
    try:
        found = places_of_shape(entries, settings.scale, settings.neck) if settings.scale else None
    except FretwrightError as error:
        notebook.refused("no-such-shape", entry.span, error)
        return ()
    if found is None:
        message = '"positions" finds the places of a scale, and "shape" has its own.'
        notebook.error("keys-clash", entry.key, message, "Leave the shape out, or keep it at one position.")
        return ()
    # A place that comes again twelve frets higher is the same to a hand that knows it.
    return tuple(
        place for place in found if place < _OCTAVE_FRETS or (place == _OCTAVE_FRETS and 0 not in found)
    )


def _written(entry: Entry, value: str) -> Entry:
    """An entry as if a teacher had written another value at its place."""
    return replace(entry, texts=(replace(entry.texts[0], value=value, style=""),), is_list=False)
