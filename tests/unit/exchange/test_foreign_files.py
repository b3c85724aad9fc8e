"""Files that music21 and partitura ship become exercises that a hand can play."""

import warnings
from importlib.util import find_spec
from pathlib import Path

import pytest

from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.midi_in import read_midi
from fretwright.exchange.musicxml_in import read_musicxml
from fretwright.fingering.finger import finger
from fretwright.score.score import Score
from reference_readers import by_music21

_CHORALES = ["bach/bwv66.6.mxl", "bach/bwv48.3.mxl", "bach/bwv366.mxl", "bach/bwv354.mxl"]
_LONGER = ["mozart/k156/movement4.mxl", "monteverdi/madrigal.4.7.mxl", "haydn/opus74no1/movement3.mxl"]


def shipped(package: str, path: str) -> Path:
    spec = find_spec(package)
    assert spec is not None
    assert spec.submodule_search_locations
    return Path(spec.submodule_search_locations[0]) / path


def assert_playable(score: Score) -> None:
    fingered = finger(score)
    assert all(score.neck.holds(note.place) for note in score.notes)
    assert all(score.neck.midi_at(note.place) == note.midi for note in score.notes)
    assert all(note.finger is not None for note in fingered.score.notes)
    assert fingered.problems == ()


@pytest.mark.parametrize("path", _CHORALES)
@pytest.mark.parametrize("part", [1, 2, 3])
def test_a_voice_of_a_chorale_has_the_notes_that_music21_reads(path: str, part: int) -> None:
    file = shipped("music21", f"corpus/{path}")
    imported = read_musicxml(file.read_bytes(), file.name, ReadOptions(part=part))
    assert_playable(imported.score)
    from music21 import converter, stream

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # what it says of others' files is no concern here
        piece = converter.parse(file)
        assert isinstance(piece, stream.Score)
        voice = piece.parts[part - 1].stripTies().flatten()
    theirs = [(element.offset, element.pitch.midi) for element in voice.getElementsByClass("Note")]
    ours = [(float(note.onset * 4), note.midi) for note in imported.score.notes]
    assert "octave-moved" not in {finding.code for finding in imported.findings}
    assert [pitch for _, pitch in ours] == [pitch for _, pitch in theirs]
    assert [at for at, _ in ours] == pytest.approx([float(at) for at, _ in theirs])


@pytest.mark.parametrize("path", _LONGER)
def test_a_longer_piece_is_read_with_its_losses_said(path: str) -> None:
    file = shipped("music21", f"corpus/{path}")
    imported = read_musicxml(file.read_bytes(), file.name, ReadOptions(bars=(1, 16)))
    assert len(imported.score.bars) == 16
    assert {"other-parts"} <= {finding.code for finding in imported.findings}


def test_the_example_of_partitura_is_the_same_by_both_kinds_of_file() -> None:
    by_xml = shipped("partitura", "assets/score_example.musicxml")
    by_midi = shipped("partitura", "assets/score_example.mid")
    xml = read_musicxml(by_xml.read_bytes(), by_xml.name).score
    assert_playable(xml)
    assert sorted((note.onset * 4, note.midi) for note in xml.notes) == [
        (at, pitch) for at, pitch, _ in by_music21(by_xml.read_bytes())[0]
    ]
    parts = [read_midi(by_midi.read_bytes(), by_midi.name, ReadOptions(part=part)).score for part in (1, 2)]
    for part in parts:
        assert_playable(part)
    assert sorted((note.onset, note.midi) for part in parts for note in part.notes) == sorted(
        (note.onset, note.midi) for note in xml.notes
    )
