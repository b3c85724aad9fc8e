"""Files that music21, partitura, verovio and pretty_midi write become exercises that a hand can play."""

import tempfile
import warnings
from base64 import b64decode
from collections.abc import Callable
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Final

import pretty_midi
import pytest

from fretwright.course.readback import says_the_same
from fretwright.course.tabtext import write_exercise
from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.imported import Imported
from fretwright.exchange.midi_in import read_midi
from fretwright.exchange.musicxml_in import read_musicxml
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.fingering.finger import finger
from fretwright.flows.exchange import adopt
from fretwright.score.score import Score
from plate_scores import written
from reference_readers import without_library

TUNE: Final = "q3/5 e3/7 e2/5 q2/8 q2/5 h5/3+4/2+3/0+2/1 qr e3/5 e3/7 | ".replace("|", "") + "w5/0+4/2+3/2"
"""A line and two chords, with a rest."""

Sounding = list[tuple[Fraction, int]]


def tune() -> Score:
    return written(TUNE, key="A minor")


def sounding(score: Score) -> Sounding:
    return sorted((note.onset, note.midi) for note in score.notes)


def by_music21(kind: str) -> bytes:
    """The tune as music21 writes it out of its own reading, as MusicXML or MIDI."""
    from music21 import converter

    stream = converter.parse(write_musicxml(tune()), format="musicxml", forceSource=True)
    with tempfile.TemporaryDirectory() as folder:
        path = stream.write(kind, fp=Path(folder) / "a")  # type: ignore[no-untyped-call]  # music21 has no types
        return Path(path).read_bytes()


def by_partitura(kind: str) -> bytes:
    with warnings.catch_warnings(), without_library("fluidsynth"), tempfile.TemporaryDirectory() as folder:
        warnings.simplefilter("ignore")  # what it says of layout is no concern here
        import partitura

        path, out = Path(folder) / "a.musicxml", Path(folder) / "out"
        path.write_bytes(write_musicxml(tune()))
        score = partitura.load_musicxml(str(path))
        if kind == "musicxml":
            partitura.save_musicxml(score, str(out))
        else:
            partitura.save_score_midi(score, str(out))
        return out.read_bytes()


def by_verovio(_: str) -> bytes:
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    assert toolkit.loadData(write_musicxml(tune()).decode())
    return b64decode(toolkit.renderToMIDI())


def by_pretty_midi(_: str) -> bytes:
    """The tune played by pretty_midi's own notes, at 120 quarters a minute."""
    file = pretty_midi.PrettyMIDI(initial_tempo=120)
    guitar = pretty_midi.Instrument(program=25, name="Guitar")
    guitar.notes += [
        pretty_midi.Note(90, note.midi, float(note.onset * 2), float(note.end * 2)) for note in tune().notes
    ]
    file.instruments.append(guitar)
    written_file = BytesIO()
    file.write(written_file)
    return written_file.getvalue()


def read(data: bytes, name: str) -> Imported:
    reader = read_midi if data.startswith(b"MThd") else read_musicxml
    return reader(data, name, ReadOptions(one_row=True))


@pytest.mark.parametrize(
    ("library", "kind"),
    [
        (by_music21, "musicxml"),
        (by_music21, "midi"),
        (by_partitura, "musicxml"),
        (by_partitura, "midi"),
        (by_verovio, "midi"),
        (by_pretty_midi, "midi"),
    ],
)
def test_what_others_write_is_the_same_tune_in_the_hand(
    library: Callable[[str], bytes], kind: str, tmp_path: Path
) -> None:
    data = library(kind)
    name = "a.mid" if kind == "midi" else "a.musicxml"
    imported = read(data, name)
    assert sounding(imported.score) == sounding(tune())
    fingered = finger(imported.score)
    assert all(note.finger is not None for note in fingered.score.notes)
    assert fingered.problems == ()
    (tmp_path / name).write_bytes(data)
    adopted = adopt(tmp_path / name)
    assert not [finding for finding in adopted.findings if finding.is_error]
    assert "tab: |" in adopted.text


def test_a_bend_that_pretty_midi_writes_is_a_bend() -> None:
    file = pretty_midi.PrettyMIDI(initial_tempo=120)
    guitar = pretty_midi.Instrument(program=25)
    guitar.notes.append(pretty_midi.Note(90, 62, 0.0, 2.0))
    guitar.pitch_bends += [
        pretty_midi.PitchBend(min(8191, round(8192 * nth / 20)), 0.05 * nth) for nth in range(21)
    ]
    guitar.pitch_bends.append(pretty_midi.PitchBend(0, 2.0))
    file.instruments.append(guitar)
    out = BytesIO()
    file.write(out)
    (note,) = read_midi(out.getvalue(), "a.mid").score.notes
    assert note.techniques.bend is not None
    assert note.techniques.bend.peak == 2
    assert note.techniques.bend.points[-1].at == Fraction(1, 2)


def test_what_was_read_can_be_written_as_text() -> None:
    score = read(by_music21("musicxml"), "a.musicxml").score
    from fretwright.score.tempo import Ladder

    assert says_the_same(write_exercise(score, Ladder(80, 80)), score)
