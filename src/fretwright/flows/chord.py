"""One chord on the neck: what ``fretwright chord`` shows, draws and hands to programs."""

from dataclasses import dataclass
from typing import Any

from fretwright.base.errors import NotationError
from fretwright.engrave.chord_diagram import chord_diagrams
from fretwright.flows.inspect import columns
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.tuning import Tuning
from fretwright.fretboard.voicing import Voicing, frets_text, is_row_of_frets, parse_frets
from fretwright.fretboard.voicing_names import name_of_frets
from fretwright.fretboard.voicings import voicing_of, voicings
from fretwright.theory.chord import Chord, simplest_root
from fretwright.theory.chord_names import ChordName


@dataclass(frozen=True, slots=True)
class ChordShown:
    """A chord and how it can be held."""

    chord: Chord
    neck: Neck
    voicings: tuple[Voicing, ...]
    """The easiest first."""
    names: tuple[ChordName, ...] = ()
    """Where frets were asked about: what they are called, the best name first."""


def find(asked: str, tuning: str, *, capo: int, count: int, variants: bool = False) -> ChordShown:
    """The voicings of a chord symbol, or the names of a row of frets.

    Raises :class:`~fretwright.base.errors.FretwrightError` where the chord, the frets, the tuning or the
    capo cannot be read, held or named.
    """
    neck = Neck(Tuning.parse(tuning), capo=capo)
    if not is_row_of_frets(asked):
        chord = Chord.parse(asked)
        return ChordShown(chord, neck, voicings(chord, neck, count=count, variants=variants))
    frets = parse_frets(asked)
    held = voicing_of(Chord.parse("C"), frets, neck)  # says first what is wrong with the frets
    names = name_of_frets(frets, neck)
    if not names:
        notes = ", ".join(str(pitch.name) for pitch in held.pitches)
        raise NotationError(f"{frets_text(frets)} ({notes}) is no chord with a common name.")
    chord = names[0].chord
    return ChordShown(chord, neck, (voicing_of(chord, frets, neck),), names[:count])


def chord_table(shown: ChordShown) -> str:
    """The chord's notes, then a row for each voicing with what makes it hard."""
    lines = [heading(shown)]
    if shown.names:
        rows = [("name", "why"), *((str(name.chord), ", ".join(name.reasons)) for name in shown.names)]
        lines += [*columns(rows), ""]
    table = [("frets", "fingers", "or", "position", "notes", "cost", "of which")]
    table += [
        (
            voicing.text,
            voicing.fingers_text,
            " ".join(grip.text(voicing.frets) for grip in voicing.alternatives[:2]) or "-",
            str(voicing.position),
            " ".join(str(pitch.name) for pitch in voicing.pitches),
            f"{voicing.ease.total:.0f}",
            ", ".join(f"{name.replace('_', ' ')} {cost:.0f}" for name, cost in _weightiest(voicing)),
        )
        for voicing in shown.voicings
    ]
    return "\n".join([*lines, *columns(table)])


def heading(shown: ChordShown) -> str:
    """The chord in symbol, words, notes and degrees, and what the hand plays behind a capo."""
    chord = shown.chord
    notes = " ".join(str(note) for note in chord.notes)
    degrees = " ".join(degree.degree for degree in chord.degrees)
    capo = f"; behind the capo it is held like {shape_of(shown)}" if shown.neck.capo else ""
    return f"{chord}, {chord.spoken}: {notes} ({degrees}){capo}"


def shape_of(shown: ChordShown) -> Chord:
    """The chord that the same grips are without the capo."""
    quality, capo = shown.chord.quality, shown.neck.capo
    root = simplest_root((shown.chord.root.pitch_class - capo) % 12, quality)
    plain = Chord(root, quality, root)
    if not shown.chord.is_slash:
        return plain
    return Chord(root, quality, plain.spell((shown.chord.bass.pitch_class - capo) % 12).name)


def chord_json(shown: ChordShown) -> dict[str, Any]:
    """The same in the form of ``docs/schemas/chord.schema.json``."""
    chord = shown.chord
    return {
        "chord": str(chord),
        "spoken": chord.spoken,
        "notes": [str(note) for note in chord.notes],
        "degrees": [degree.degree for degree in chord.degrees],
        "bass": str(chord.bass),
        "tuning": [str(pitch) for pitch in reversed(shown.neck.tuning.open_pitches)],
        "capo": shown.neck.capo,
        "names": [
            {"chord": str(name.chord), "points": round(name.points, 2), "reasons": list(name.reasons)}
            for name in shown.names
        ],
        "voicings": [_voicing_json(voicing) for voicing in shown.voicings],
    }


def draw(shown: ChordShown) -> str:
    """The voicings as an SVG picture, the easiest first."""
    return chord_diagrams(shown.voicings, title=heading(shown), id_prefix="chord").svg


def _weightiest(voicing: Voicing) -> list[tuple[str, float]]:
    """The three terms that cost most."""
    return sorted(voicing.ease.terms.items(), key=lambda term: (-term[1], term[0]))[:3]


def _voicing_json(voicing: Voicing) -> dict[str, Any]:
    return {
        "frets": voicing.text,
        "fingers": voicing.fingers_text,
        "alternatives": [grip.text(voicing.frets) for grip in voicing.alternatives],
        "position": voicing.position,
        "barres": [
            {
                "finger": barre.finger,
                "fret": barre.fret,
                "low_string": barre.low_string,
                "high_string": barre.high_string,
            }
            for barre in voicing.barres
        ],
        "notes": [
            {
                "string": place.string,
                "fret": place.fret,
                "finger": voicing.fingers[place.string - 1],
                "midi": pitch.midi,
                "name": str(pitch),
            }
            for place, pitch in zip(voicing.places, voicing.pitches, strict=True)
        ],
        "cost": round(voicing.ease.total, 1),
        "terms": voicing.ease.terms,
    }
