"""What general-purpose libraries read in our files: notes as (onset in quarters, MIDI number, quarters).

Times are fractions where the library counts exactly. Ties are joined and repeats are not taken.
"""

import sys
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any

ReadNote = tuple[Fraction, int, Fraction]


def _close(value: Any) -> Fraction:  # noqa: ANN401 - a float or a fraction of another library
    return Fraction(value).limit_denominator(10_000)


def by_music21(document: bytes) -> tuple[list[ReadNote], Any]:
    """Notes by music21, and its whole score."""
    from music21 import converter

    stream = converter.parse(document, format="musicxml", forceSource=True)
    notes = [
        (_close(element.getOffsetInHierarchy(stream)), pitch.midi, _close(element.quarterLength))
        for element in stream.stripTies(matchByPitch=True).flatten().notes
        if "ChordSymbol" not in element.classes
        for pitch in element.pitches
    ]
    return sorted(notes), stream


@contextmanager
def without_library(library: str) -> Iterator[None]:
    """Hide a library: partitura would use this one to fetch a sound font as soon as it is imported."""
    hidden = sys.modules.get(library)
    sys.modules[library] = None  # type: ignore[assignment] # what makes an import fail
    try:
        yield
    finally:
        del sys.modules[library]
        if hidden is not None:
            sys.modules[library] = hidden


def by_partitura(document: bytes) -> list[ReadNote]:
    """Notes by partitura."""
    with warnings.catch_warnings(), without_library("fluidsynth"):
        # Its grammar library imports a deprecated module; what it says of layout is no concern here.
        warnings.simplefilter("ignore")
        import partitura

        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "score.musicxml"
            path.write_bytes(document)
            part = partitura.load_musicxml(str(path)).parts[0]
        quarters = part.quarter_map
        first = quarters(part.first_point.t)
        return sorted(
            (
                _close(float(quarters(note.start.t) - first)),
                note.midi_pitch,
                _close(float(quarters(note.end_tied.t) - quarters(note.start.t))),
            )
            for note in part.notes_tied
        )


def by_verovio(document: bytes) -> list[tuple[Fraction, int, str]]:
    """Onset, pitch and id of every note head by verovio, heads that are tied on included."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(document.decode())
    found: list[tuple[Fraction, int, str]] = []
    for moment in toolkit.renderToTimemap({}):
        for note_id in moment.get("on", []):
            pitch = toolkit.getMIDIValuesForElement(note_id)["pitch"]
            found.append((_close(moment["qstamp"]), pitch, note_id))
    return sorted(found)


def by_pretty_midi(document: bytes) -> list[tuple[float, int, float]]:
    """Onsets and ends in seconds, and pitches, by pretty_midi."""
    import pretty_midi

    read = pretty_midi.PrettyMIDI(BytesIO(document))
    return sorted(
        (round(float(note.start), 4), note.pitch, round(float(note.end), 4))
        for instrument in read.instruments
        for note in instrument.notes
    )
