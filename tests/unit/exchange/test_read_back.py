"""Independent libraries read the same notes out of our files: music21, partitura, verovio, pretty_midi."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings

from exchange_scores import chance_scores, has_unisons, rich, unrepeated
from fretwright.exchange.midi_out import MidiOptions, write_midi
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.exchange.pieces import bars_of_voices, id_of
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from plate_scores import wandering
from reference_readers import by_music21, by_partitura, by_pretty_midi, by_verovio

_SEEDS = (0, 1, 2, 4, 5, 7, 8, 10, 11, 33)


def notes_of(score: Score) -> list[tuple[Fraction, int, Fraction]]:
    return sorted((note.onset * 4, note.midi, note.duration * 4) for note in score.notes)


@pytest.mark.parametrize("seed", _SEEDS)
def test_music21_reads_the_notes(seed: int) -> None:
    score = unrepeated(wandering(seed)[0])
    # Two strings in unison are two notes here; music21 joins their ties by pitch alone.
    assert not has_unisons(score)
    assert by_music21(write_musicxml(score))[0] == notes_of(score)


def test_music21_reads_strings_frets_fingers_and_strokes() -> None:
    from music21 import articulations, note

    score = unrepeated(wandering(5)[0])
    _, stream = by_music21(write_musicxml(score))
    names = {articulations.UpBow: "up", articulations.DownBow: "down"}
    found = {}
    for element in stream.flatten().getElementsByClass(note.Note):
        signs = {type(sign): sign for sign in element.articulations}
        found[Fraction(element.offset)] = (
            int(signs[articulations.StringIndication].number),
            int(signs[articulations.FretIndication].number),
            int(signs[articulations.Fingering].fingerNumber) if articulations.Fingering in signs else None,
            next((name for kind, name in names.items() if kind in signs), None),
        )
    onsets = [each.onset for each in score.notes]
    alone = [each for each in score.notes if onsets.count(each.onset) == 1]
    assert len(alone) > 10
    for each in alone:
        assert found[each.onset * 4] == (each.string, each.fret, each.finger, each.stroke)


def test_music21_reads_key_meter_tempo_and_repeats() -> None:
    score = rich()
    _, stream = by_music21(write_musicxml(score))
    flat = stream.flatten()
    assert flat.getElementsByClass("KeySignature")[0].sharps == score.key.fifths
    assert flat.getElementsByClass("TimeSignature")[0].ratioString == "4/4"
    assert [mark.number for mark in flat.getElementsByClass("MetronomeMark")] == [72.5, 96.0]
    assert len(stream.expandRepeats().parts[0].getElementsByClass("Measure")) == len(timeline(score).bars)


@pytest.mark.parametrize("seed", _SEEDS)
def test_partitura_reads_the_notes(seed: int) -> None:
    score = unrepeated(wandering(seed)[0])
    assert by_partitura(write_musicxml(score)) == notes_of(score)


@pytest.mark.parametrize("seed", _SEEDS)
def test_verovio_reads_every_head_with_its_id(seed: int) -> None:
    score = unrepeated(wandering(seed)[0])
    heads = sorted(
        (piece.start * 4, head.note.midi, id_of(head))
        for bar in bars_of_voices(score)
        for voice in bar.voices
        for piece in voice
        for head in piece.heads
    )
    assert by_verovio(write_musicxml(score)) == heads


@settings(max_examples=40)
@given(score=chance_scores())
def test_pretty_midi_reads_the_performance(score: Score) -> None:
    assume(not has_unisons(score))
    expected = sorted(
        (timed.onset_s, timed.note.midi, timed.onset_s + timed.duration_s) for timed in timeline(score).notes
    )
    read = by_pretty_midi(write_midi(score, MidiOptions(track_per_string=True)))
    assert [pitch for _, pitch, _ in read] == [pitch for _, pitch, _ in expected]
    for found, wanted in zip(read, expected, strict=True):
        assert found[0] == pytest.approx(wanted[0], abs=1e-3)
        assert found[2] == pytest.approx(wanted[2], abs=1e-3)


def test_pretty_midi_hears_swing_and_a_change_of_tempo() -> None:
    score = replace(rich(), notes=tuple(replace(note, slur_from=None) for note in rich().notes))
    expected = sorted((timed.onset_s, timed.note.midi) for timed in timeline(score).notes)
    read = by_pretty_midi(write_midi(score))
    assert [pitch for _, pitch, _ in read] == [pitch for _, pitch in expected]
    assert [onset for onset, *_ in read] == pytest.approx([onset for onset, _ in expected], abs=1e-3)
