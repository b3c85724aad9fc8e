"""The bytes of a MIDI file (MIDI 1.0 detailed specification; tempo values from mido's documentation)."""

from dataclasses import replace
from fractions import Fraction
from io import BytesIO

import mido
import pytest

from exchange_scores import of_tuning, plain, rich
from fretwright.base.errors import RenderError
from fretwright.exchange.midi_out import MidiOptions, write_midi
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.score.swing import SHUFFLE
from fretwright.score.tempo import TempoMap
from fretwright.score.values import Tuplet, Value
from plate_scores import written


def at_tempo(bpm: float, beat: Fraction = Fraction(1, 4)) -> Score:
    return replace(plain(), tempo=TempoMap.constant(bpm, beat))


def messages(data: bytes, track: int, kind: str) -> list[mido.Message]:
    return [message for message in mido.MidiFile(file=BytesIO(data)).tracks[track] if message.type == kind]


@pytest.mark.parametrize(
    ("bpm", "bytes_"), [(60, "0F4240"), (80, "0B71B0"), (100, "0927C0"), (120, "07A120")]
)
def test_tempo_counts_microseconds_a_quarter(bpm: int, bytes_: str) -> None:
    assert bytes.fromhex(f"FF5103{bytes_}") in write_midi(at_tempo(bpm))


def test_a_beat_of_a_half_note_takes_two_quarters() -> None:
    # 500,000 microseconds a quarter are 60 beats a minute in 2/2 (mido's documentation).
    assert bytes.fromhex("FF510307A120") in write_midi(at_tempo(60, Fraction(1, 2)))


@pytest.mark.parametrize(("meter", "figures"), [((4, 4), "0402"), ((6, 8), "0603"), ((2, 2), "0201")])
def test_a_time_signature_stores_a_power_of_two(meter: tuple[int, int], figures: str) -> None:
    score = written("e6/5 e6/8 e5/5 e5/7 e5/5 e4/5", meter=Meter(*meter))
    assert bytes.fromhex(f"FF5804{figures}") in write_midi(score)


def test_the_clock_of_a_compound_meter_ticks_dotted_quarters() -> None:
    score = written("e6/5 e6/8 e5/5 e5/7 e5/5 e4/5", meter=Meter(6, 8))
    assert messages(write_midi(score), 0, "time_signature")[0].clocks_per_click == 36


def test_it_is_format_one_with_960_ticks_and_ends_where_the_bar_does() -> None:
    file = mido.MidiFile(file=BytesIO(write_midi(plain())))
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (1, 960, 2)
    assert [sum(message.time for message in track) for track in file.tracks] == [3840, 3840]


def test_quintuplets_and_septuplets_are_whole_ticks() -> None:
    seven = Value(Fraction(1, 16), 0, Tuplet(7, 4))
    data = write_midi(_of_values([seven] * 7 + [Value(Fraction(1, 4))] * 3))
    file = mido.MidiFile(file=BytesIO(data))
    assert file.ticks_per_beat == 6720
    onsets = [message.time for message in file.tracks[1] if message.type == "note_off"]
    assert onsets[:7] == [960] * 7


def _of_values(values: list[Value]) -> Score:
    from scores import line

    return line(" ".join(["6/5"] * len(values)), values=values)


def test_time_finer_than_the_header_can_count_is_refused() -> None:
    values = [Value(Fraction(1, 64), 0, Tuplet(actual, 4)) for actual in (61, 59, 53) for _ in range(actual)]
    with pytest.raises(RenderError, match="more finely"):
        write_midi(_of_values(values))


def test_swing_is_played_unless_it_is_not_wanted() -> None:
    score = replace(plain(), swing=SHUFFLE)
    swung = [message.time for message in messages(write_midi(score), 1, "note_off")]
    straight = [
        message.time for message in messages(write_midi(score, MidiOptions(swing=False)), 1, "note_off")
    ]
    assert swung[:2] == [640, 320]
    assert straight[:2] == [480, 480]


def test_a_track_for_each_string_has_its_channel_and_says_its_note() -> None:
    data = write_midi(of_tuning("DADGAD"), MidiOptions(track_per_string=True))
    names = [messages(data, track, "track_name")[0].name for track in range(1, 7)]
    assert names[0] == "string 1 (D4)"
    assert names[5] == "string 6 (D2)"
    assert [messages(data, track, "note_on")[0].channel for track in range(1, 7)] == list(range(6))


def test_the_capo_stands_in_the_names_of_the_strings() -> None:
    data = write_midi(rich(), MidiOptions(track_per_string=True))
    assert messages(data, 6, "track_name")[0].name == "string 6 (D2, capo 2)"


def test_slurs_are_softer_than_strokes_and_a_down_stroke_is_the_loudest() -> None:
    data = write_midi(plain())
    down, hammered, up = (message.velocity for message in messages(data, 1, "note_on")[:3])
    assert hammered < up <= down


def test_note_ids_come_as_text_before_their_notes() -> None:
    data = write_midi(plain(), MidiOptions(note_ids=True))
    assert [message.text for message in messages(data, 1, "text")] == [note.id for note in plain().notes]


@pytest.mark.parametrize(("tuning", "program"), [("standard", 25), ("bass", 33)])
def test_programs_count_from_nought(tuning: str, program: int) -> None:
    # General MIDI Level 1: 26 is Acoustic Guitar (steel), 34 Electric Bass (finger), counted from 1.
    assert messages(write_midi(of_tuning(tuning)), 1, "program_change")[0].program == program


def test_a_pickup_has_a_time_signature_of_its_own() -> None:
    signatures = messages(write_midi(rich()), 0, "time_signature")
    assert [(each.numerator, each.denominator) for each in signatures[:2]] == [(1, 4), (4, 4)]


def test_the_same_score_gives_the_same_bytes() -> None:
    assert write_midi(rich()) == write_midi(rich())
