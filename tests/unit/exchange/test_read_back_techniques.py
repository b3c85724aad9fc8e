"""Independent libraries read the same notes, and the signs they know, out of files full of techniques."""

from dataclasses import replace
from fractions import Fraction

from hypothesis import HealthCheck, assume, given, settings

from exchange_scores import has_unisons
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.note import Attack, Note
from fretwright.score.score import Score
from fretwright.score.techniques import (
    Grace,
    Harmonic,
    HarmonicKind,
    PickingFinger,
    Techniques,
    Trill,
    Vibrato,
    bend_and_release,
)
from fretwright.score.values import SIXTEENTH, Value
from plate_scores import written
from reference_readers import by_music21, by_partitura, by_verovio
from strategies import technique_scores

NECK = Neck(frets=24)


def notes_of(score: Score) -> list[tuple[Fraction, int, Fraction]]:
    return sorted((note.onset * 4, note.midi, note.duration * 4) for note in score.notes)


def without_graces(score: Score) -> Score:
    """Small notes have no time, and each library counts them in its own way."""
    return score.with_notes(tuple(_plainer(note) for note in score.notes))


def _plainer(note: Note) -> Note:
    if not note.techniques.graces:
        return note
    attack = Attack.PLUCK if note.slur_from is None else note.attack
    return replace(note, attack=attack, techniques=replace(note.techniques, graces=()))


@given(technique_scores(most_bars=2))
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_notes_are_read_as_they_are(score: Score) -> None:
    score = without_graces(score)
    assume(not has_unisons(score))
    document = write_musicxml(score)
    assert by_partitura(document) == notes_of(score)
    struck = {(note.onset * 4, note.midi) for note in score.notes}
    # verovio tells every head, and music21 loses some ties of chords: both have all that is struck.
    assert struck <= {(onset, pitch) for onset, pitch, _ in by_verovio(document)}
    assert struck <= {(onset, pitch) for onset, pitch, _ in by_music21(document)[0]}


def everything() -> Score:
    """A note for each sign that music21 knows."""
    score = written("q2/8 q2/8 q3/12 q3/7 q2/8 q2/8 q2/8 q2/8", neck=NECK)
    trill = Trill(10, NECK.pitch_at(Place(2, 10)), SIXTEENTH)
    small = Place(2, 7)
    asked = [
        Techniques(bend=bend_and_release(Fraction(2))),
        Techniques(vibrato=Vibrato(), accent=True),
        Techniques(harmonic=Harmonic(HarmonicKind.NATURAL, 12)),
        Techniques(dead=True),
        Techniques(trill=trill),
        Techniques(tremolo=Value(Fraction(1, 32)), staccato=True),
        Techniques(graces=(Grace(small, NECK.pitch_at(small), is_slurred_on=False),)),
        Techniques(ghost=True),
    ]
    notes = [replace(note, techniques=each) for note, each in zip(score.notes, asked, strict=True)]
    notes[1] = replace(notes[1], picking_finger=PickingFinger.MIDDLE)
    return score.with_notes(tuple(notes))


def test_music21_reads_the_signs_that_it_knows() -> None:
    _, stream = by_music21(write_musicxml(everything()))
    notes = [each for each in stream.flatten().notes if not each.duration.isGrace]
    names = [{type(sign).__name__ for sign in (*each.articulations, *each.expressions)} for each in notes]
    bends = [sign for sign in notes[0].articulations if type(sign).__name__ == "FretBend"]
    assert [bend.bendAlter.semitones for bend in bends] == [2, -2]
    assert "Accent" in names[1]
    assert "StringHarmonic" in names[2]
    assert notes[3].notehead == "x"
    assert "Trill" in names[4]
    assert {"Tremolo", "Staccato"} <= names[5]
    assert notes[7].noteheadParenthesis
    graces = [each for each in stream.flatten().notes if each.duration.isGrace]
    assert [each.pitch.midi for each in graces] == [66]


def test_both_voices_are_voices_for_others() -> None:
    upper = written("q2/8 q2/8 h2/8 w2/5", neck=NECK)
    lower = written("h5/3 h5/5 h6/3 h6/5", neck=NECK)
    below = tuple(replace(note, voice=2) for note in lower.notes)
    score = upper.with_notes(
        tuple(sorted((*upper.notes, *below), key=lambda note: (note.onset, -note.string)))
    )
    _, stream = by_music21(write_musicxml(score))
    first = stream.parts[0].getElementsByClass("Measure")[0]
    assert [[each.pitch.midi for each in voice.notes] for voice in first.voices] == [[67, 67, 67], [48, 50]]
