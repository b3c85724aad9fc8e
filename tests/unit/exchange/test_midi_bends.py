"""The pitch wheel read: bends and vibrato of one string come back, everything else is said to be lost."""

from collections.abc import Sequence
from fractions import Fraction
from io import BytesIO

import mido
import pytest

from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.imported import Imported
from fretwright.exchange.midi_in import read_midi
from fretwright.exchange.midi_out import MidiOptions, write_midi
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.techniques import (
    WIDE_VIBRATO,
    Bend,
    BendPoint,
    Stroke,
    Techniques,
    Vibrato,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from plate_scores import asked, written

FULL = Fraction(2)
OWN = Bend(
    tuple(BendPoint(Fraction(at, 4), Fraction(height)) for at, height in ((0, 0), (1, 2), (2, 1), (3, 3)))
)


def again(score: Score, *, strings: bool) -> Imported:
    return read_midi(write_midi(score, MidiOptions(track_per_string=strings)), "a.mid", ReadOptions())


def note_at(score: Score, onset: str) -> Note:
    (note,) = [note for note in score.notes if note.onset == Fraction(onset)]
    return note


@pytest.mark.parametrize("strings", [True, False], ids=["a track for each string", "one track"])
@pytest.mark.parametrize(
    "bend",
    [
        bend_up(FULL),
        bend_up(Fraction(1)),
        bend_up(Fraction(1, 2)),
        bend_up(Fraction(3), Fraction(1, 2)),
        bend_and_release(FULL),
        pre_bend(FULL),
        pre_bend_and_release(Fraction(1)),
        OWN,
    ],
)
def test_a_bend_comes_back_from_the_wheel(bend: Bend, *, strings: bool) -> None:
    score = asked(written("h3/7 q2/5 q2/8"), b1t0s3=Techniques(bend=bend))
    found = again(score, strings=strings)
    assert note_at(found.score, "0").techniques.bend == bend
    assert [note.techniques for note in found.score.notes[1:]] == [Techniques()] * 2
    assert not [finding for finding in found.findings if finding.code == "left-out"]


@pytest.mark.parametrize("vibrato", [Vibrato(), WIDE_VIBRATO, Vibrato(4.5, 30.0)])
def test_a_vibrato_comes_back_nearly(vibrato: Vibrato) -> None:
    score = asked(written("w3/7"), b1t0s3=Techniques(vibrato=vibrato))
    found = note_at(again(score, strings=True).score, "0").techniques.vibrato
    assert found is not None
    assert found.rate_hz == pytest.approx(vibrato.rate_hz, abs=0.5)
    assert found.width_cents == pytest.approx(vibrato.width_cents, abs=10)


Event = tuple[int, mido.Message]


def file_of(events: Sequence[Event]) -> bytes:
    """A file of one track at 480 ticks a quarter from messages with their times in ticks."""
    file, track = mido.MidiFile(ticks_per_beat=480), mido.MidiTrack()
    now = 0
    for at, message in events:
        track.append(message.copy(time=at - now))
        now = at
    file.tracks.append(track)
    written = BytesIO()
    file.save(file=written)
    return written.getvalue()


def on(at: int, note: int, channel: int = 0) -> Event:
    return at, mido.Message("note_on", note=note, velocity=80, channel=channel)


def off(at: int, note: int, channel: int = 0) -> Event:
    return at, mido.Message("note_off", note=note, channel=channel)


def wheel(at: int, share: float, channel: int = 0) -> Event:
    return at, mido.Message("pitchwheel", pitch=min(8191, round(8192 * share)), channel=channel)


def control(number: int, value: int) -> Event:
    return 0, mido.Message("control_change", control=number, value=value)


RISE = [wheel(48 * nth, nth / 10) for nth in range(1, 11)]
"""From nothing to the end of its range in a quarter note."""


def test_a_wheel_reaches_two_semitones_where_nothing_is_said() -> None:
    """MIDI 1.0 leaves the range to the device; General MIDI sets it to two semitones."""
    found = read_midi(file_of([on(0, 62), *RISE, off(960, 62)]), "a.mid")
    assert found.score.notes[0].techniques.bend == Bend(
        (BendPoint(Fraction(0), Fraction(0)), BendPoint(Fraction(1, 2), Fraction(2)))
    )


@pytest.mark.parametrize(("semitones", "cents"), [(1, 0), (3, 0), (2, 50)])
def test_registered_parameter_0_sets_the_range(semitones: int, cents: int) -> None:
    told = [control(101, 0), control(100, 0), control(6, semitones), control(38, cents)]
    nothing = [control(101, 127), control(100, 127), control(6, 12)]
    found = read_midi(file_of([*told, *nothing, on(0, 62), *RISE, off(960, 62)]), "a.mid")
    bend = found.score.notes[0].techniques.bend
    assert bend is not None
    assert bend.peak == Fraction(semitones) + Fraction(cents, 100)
    assert not found.findings or all(finding.code != "left-out" for finding in found.findings)


def test_a_wheel_that_is_put_once_jumps() -> None:
    found = read_midi(file_of([on(0, 62), wheel(480, 1.0), off(960, 62)]), "a.mid")
    bend = found.score.notes[0].techniques.bend
    assert bend is not None
    assert bend.points[-2:] == (
        BendPoint(Fraction(11, 24), Fraction(0)),
        BendPoint(Fraction(1, 2), Fraction(2)),
    )


def lost(found: Imported) -> list[str]:
    return [finding.message for finding in found.findings if finding.code == "left-out"]


@pytest.mark.parametrize(
    "events",
    [
        [on(0, 62), on(0, 66), *RISE, off(960, 62), off(960, 66)],
        [on(0, 62), *(wheel(at, -share.pitch / 8192) for at, share in RISE), off(960, 62)],
    ],
    ids=["two notes on one wheel", "below the note"],
)
def test_what_is_no_bend_of_one_string_is_said_to_be_lost(events: list[Event]) -> None:
    found = read_midi(file_of(events), "a.mid")
    assert all(note.techniques.bend is None for note in found.score.notes)
    assert any("pitch wheel" in message for message in lost(found))


def test_a_wheel_at_rest_says_nothing() -> None:
    found = read_midi(file_of([wheel(0, 0.0), on(0, 62), wheel(240, 0.0), off(960, 62)]), "a.mid")
    assert found.score.notes[0].techniques == Techniques()
    assert not lost(found)


def test_a_rake_knocks_on_its_strings_before_its_note() -> None:
    score = asked(written("h3/5 h2/8"), b1t1_2s2=Techniques(rake=Stroke.DOWN))
    for strings in (True, False):
        data = write_midi(score, MidiOptions(track_per_string=strings))
        starts = {}
        for track in mido.MidiFile(file=BytesIO(data)).tracks:
            now = 0
            for message in track:
                now += message.time
                if message.type == "note_on":
                    starts[message.note] = (now, message.velocity)
        # the open strings 5, 4 and 3 of a guitar in standard tuning, and then G4
        assert [starts[midi][0] for midi in (45, 50, 55, 67)] == sorted(
            starts[midi][0] for midi in (45, 50, 55, 67)
        )
        assert all(starts[midi][1] < 60 for midi in (45, 50, 55))
        assert starts[67][0] == 2 * mido.MidiFile(file=BytesIO(data)).ticks_per_beat
