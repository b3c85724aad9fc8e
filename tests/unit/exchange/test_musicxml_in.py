"""Files as other programs write them: what is read, what is moved, and what is said to be lost."""

from fractions import Fraction

import pytest

from fretwright.base.errors import ExchangeError
from fretwright.base.findings import Severity
from fretwright.exchange.draft import ReadOptions
from fretwright.exchange.imported import Imported
from fretwright.exchange.musicxml_in import read_musicxml
from fretwright.fretboard.neck import Neck, Place
from fretwright.fretboard.tuning import TUNINGS
from fretwright.score.meter import Meter
from fretwright.score.note import Attack
from fretwright.score.techniques import (
    USUAL_VIBRATO,
    Bend,
    Harmonic,
    HarmonicKind,
    bend_and_release,
    bend_up,
    pre_bend,
    pre_bend_and_release,
)
from fretwright.score.values import SIXTEENTH

_QUARTERS = "<divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"


def note(pitch: str, duration: int = 2, inside: str = "", *, chord: bool = False, before: str = "") -> str:
    step, octave = pitch[0], pitch[-1]
    alter = {"#": "<alter>1</alter>", "b": "<alter>-1</alter>"}.get(pitch[1:-1], "")
    return (
        f"<note>{before}{'<chord/>' if chord else ''}"
        f"<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>"
        f"<duration>{duration}</duration>{inside}</note>"
    )


def rest(duration: int) -> str:
    return f"<note><rest/><duration>{duration}</duration></note>"


def at(string: int, fret: int, more: str = "") -> str:
    technical = f"<technical><string>{string}</string><fret>{fret}</fret>{more}</technical>"
    return f"<notations>{technical}</notations>"


def file(*measures: str, attributes: str = _QUARTERS, parts: int = 1) -> bytes:
    first, *others = measures
    insides = [f"<attributes>{attributes}</attributes>{first}", *others]
    bars = "".join(
        f'<measure number="{number}">{inside}</measure>' for number, inside in enumerate(insides, start=1)
    )
    names = "".join(
        f'<score-part id="P{n}"><part-name>Voice {n}</part-name></score-part>' for n in range(1, parts + 1)
    )
    body = "".join(f'<part id="P{n}">{bars}</part>' for n in range(1, parts + 1))
    return f"<score-partwise><part-list>{names}</part-list>{body}</score-partwise>".encode()


def read(data: bytes, **options: object) -> Imported:
    return read_musicxml(data, "folk.musicxml", ReadOptions(**options))  # type: ignore[arg-type]


def codes(imported: Imported) -> set[str]:
    return {finding.code for finding in imported.findings}


def left_out(imported: Imported) -> str:
    return " ".join(finding.message for finding in imported.findings if finding.code == "left-out")


def test_notes_without_strings_get_the_easiest_places() -> None:
    score = read(file(note("E4") + note("F4") + note("G4") + note("A4"))).score
    assert [score.neck.midi_at(each.place) for each in score.notes] == [64, 65, 67, 69]
    frets = [each.fret for each in score.notes if each.fret]
    assert max(frets) - min(frets) <= 4


def test_the_tempo_that_is_missing_is_said() -> None:
    imported = read(file(note("E4", 8)))
    assert imported.score.tempo.bpm == 100
    assert codes(imported) == {"no-tempo"}


def test_findings_name_the_file_the_line_and_the_bar() -> None:
    data = file(note("E4", 8), "\n" + note("F4", 8, "<notations><fermata/></notations>"))
    finding = next(finding for finding in read(data).findings if finding.code == "left-out")
    assert (finding.span.file, finding.span.line, finding.span.text) == ("folk.musicxml", 2, "bar 2")
    assert finding.severity is Severity.ADVICE


def test_a_transposing_part_is_read_as_it_sounds() -> None:
    moved = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
    imported = read(file(note("E5", 8), attributes=_QUARTERS + moved))
    assert str(imported.score.notes[0].pitch) == "E4"


def test_a_tuning_with_line_one_at_the_bottom_is_read_and_its_frets_believed() -> None:
    lines = ["D2", "A2", "D3", "G3", "B3", "E4"]
    tuned = "".join(
        f'<staff-tuning line="{line}"><tuning-step>{pitch[0]}</tuning-step>'
        f"<tuning-octave>{pitch[1]}</tuning-octave></staff-tuning>"
        for line, pitch in enumerate(lines, start=1)
    )
    details = f"<staff-details><staff-lines>6</staff-lines>{tuned}<capo>2</capo></staff-details>"
    imported = read(file(note("E2", 8, at(6, 0)), attributes=_QUARTERS + details))
    assert imported.score.neck.tuning == TUNINGS["drop D"]
    assert imported.score.neck.capo == 2
    assert imported.score.notes[0].place == Place(6, 0)


def test_a_place_that_sounds_otherwise_is_not_believed() -> None:
    imported = read(file(note("E4", 8, at(6, 3))))
    assert imported.score.notes[0].place == Place(1, 0)
    assert "place-contradicts-pitch" in codes(imported)


def test_a_pitch_off_the_neck_is_moved_by_octaves() -> None:
    imported = read(file(note("C1", 4) + note("C8", 4)))
    assert [str(each.pitch) for each in imported.score.notes] == ["C3", "C6"]
    assert "octave-moved" in codes(imported)


def test_a_chord_that_no_hand_holds_loses_its_inner_notes() -> None:
    chord = note("E2", 8) + "".join(note(pitch, 8, chord=True) for pitch in ("F2", "G2", "A2", "E5"))
    imported = read(file(chord))
    heights = [str(each.pitch) for each in imported.score.notes]
    assert heights[0] == "E2"
    assert heights[-1] == "E5"
    assert "note-left-out" in codes(imported)


def test_two_staves_that_show_one_note_are_one_note() -> None:
    above = note("A3", 8, "<voice>1</voice><staff>1</staff>")
    below = note("A3", 8, "<voice>5</voice><staff>2</staff>" + at(4, 7))
    imported = read(file(above + "<backup><duration>8</duration></backup>" + below))
    assert [each.place for each in imported.score.notes] == [Place(4, 7)]


def test_a_second_voice_keeps_its_own_lengths() -> None:
    upper = note("E4", 4, "<voice>1</voice>") + note("F4", 4, "<voice>1</voice>")
    lower = note("A2", 8, "<voice>2</voice>")
    imported = read(file(upper + "<backup><duration>8</duration></backup>" + lower))
    bass = next(each for each in imported.score.notes if each.string == 5)
    assert [value.name for value in bass.values] == ["whole"]
    assert [each.voice for each in imported.score.notes] == [2, 1, 1]


def test_what_overlaps_in_one_voice_is_tied_through() -> None:
    held = note("A2", 8) + "<backup><duration>8</duration></backup>"
    imported = read(file(held + note("E4", 4) + note("F4", 4)))
    bass = next(each for each in imported.score.notes if each.string == 5)
    assert [value.name for value in bass.values] == ["half", "half"]


def test_one_row_of_rhythm_cuts_what_is_held() -> None:
    upper = note("E4", 4) + note("F4", 4)
    imported = read(file(upper + "<backup><duration>8</duration></backup>" + note("A2", 8)), one_row=True)
    assert {each.duration for each in imported.score.notes} == {Fraction(1, 2)}
    assert "held-note-cut" in codes(imported)


def test_ties_join_over_the_bar_line() -> None:
    imported = read(file(note("E4", 8, '<tie type="start"/>'), note("E4", 8, '<tie type="stop"/>')))
    assert [each.duration for each in imported.score.notes] == [2]


@pytest.mark.parametrize(
    ("first", "second", "attack"),
    [("G3", "A3", Attack.HAMMER_ON), ("A3", "G3", Attack.PULL_OFF)],
)
def test_a_bare_slur_on_one_string_is_a_hammer_on_or_a_pull_off(
    first: str, second: str, attack: Attack
) -> None:
    frets = {"G3": 0, "A3": 2}

    def slurred(pitch: str, kind: str) -> str:
        return note(
            pitch, 4, at(3, frets[pitch]).replace("</notations>", f'<slur type="{kind}"/></notations>')
        )

    imported = read(file(slurred(first, "start") + slurred(second, "stop")))
    assert [each.attack for each in imported.score.notes] == [Attack.PLUCK, attack]


def test_a_hammer_on_across_strings_is_plucked_and_said() -> None:
    start = note("G3", 4, at(3, 0, '<hammer-on type="start">H</hammer-on>'))
    stop = note("B3", 4, at(2, 0, '<hammer-on type="stop"/>'))
    imported = read(file(start + stop))
    assert [each.attack for each in imported.score.notes] == [Attack.PLUCK, Attack.PLUCK]
    assert "slur-not-kept" in codes(imported)


def test_what_has_no_place_in_a_score_is_named_once_with_its_count() -> None:
    loud = "<direction><direction-type><dynamics><f/></dynamics></direction-type></direction>"
    cue = note("E4", 4, before="<cue/>")
    imported = read(file(loud + note("E4", 4) + cue + loud + note("F4", 4)))
    said = left_out(imported)
    assert "dynamics" in said
    assert "It came 2 times" in said
    assert "cue notes" in said


def graced(link: str) -> str:
    """A small D4 on string 2, fret 3, before an E4 on fret 5, as other programs write it."""
    small = note("D4", 0, at(2, 3), before="<grace/>").replace("<duration>0</duration>", "")
    started = small.replace("</notations>", link + "</notations>")
    return started + note("E4", 8, at(2, 5))


def test_grace_notes_of_other_programs_belong_to_the_note_behind_them() -> None:
    (plucked,) = read(file(graced(""))).score.notes
    assert [each.is_slurred_on for each in plucked.techniques.graces] == [False]
    assert plucked.attack is Attack.PLUCK
    (slurred,) = read(file(graced('<slur type="start" number="1"/>'))).score.notes
    assert [(each.place, each.is_slurred_on) for each in slurred.techniques.graces] == [(Place(2, 3), True)]
    assert slurred.attack is Attack.HAMMER_ON


@pytest.mark.parametrize(
    ("bends", "expected"),
    [
        ("<bend><bend-alter>2</bend-alter></bend>", bend_up(Fraction(2))),
        ("<bend><bend-alter>1</bend-alter></bend><bend><bend-alter>-1</bend-alter><release/></bend>",
         bend_and_release(Fraction(1))),
        ("<bend><bend-alter>2</bend-alter><pre-bend/></bend>", pre_bend(Fraction(2))),
        ("<bend><bend-alter>2</bend-alter><pre-bend/></bend><bend><bend-alter>-2</bend-alter><release/></bend>",
         pre_bend_and_release(Fraction(2))),
    ],
)  # fmt: skip
def test_bends_without_times_are_the_usual_ones(bends: str, expected: Bend) -> None:
    (bent,) = read(file(note("E4", 8, at(2, 5, bends)))).score.notes
    assert bent.techniques.bend == expected


@pytest.mark.parametrize("written", ["G3", "D4", "D5"])
def test_a_harmonic_sounds_where_its_place_says_whatever_pitch_the_file_gives(written: str) -> None:
    """Open, touched and sounding pitch of string 3 touched at fret 7: its third partial, D5."""
    imported = read(file(note(written, 8, at(3, 7, "<harmonic><natural/></harmonic>"))))
    (sounded,) = imported.score.notes
    assert (str(sounded.pitch), sounded.place) == ("D5", Place(3, 7))
    assert sounded.techniques.harmonic == Harmonic(HarmonicKind.NATURAL, 7)


def test_ornaments_and_articulations_of_other_programs() -> None:
    def signed(name: str, length: int, signs: str) -> str:
        return note(name, length, at(2, 5).replace("</notations>", f"{signs}</notations>"))

    trill = "<ornaments><trill-mark/></ornaments><articulations><staccato/><accent/></articulations>"
    wave = '<ornaments><wavy-line type="start" number="1"/></ornaments>'
    strokes = '<ornaments><tremolo type="single">2</tremolo></ornaments>'
    bar = signed("E4", 4, trill) + signed("E4", 2, wave) + signed("E4", 2, strokes)
    trilled, shaken, struck = read(file(bar)).score.notes
    # the next note of C major above E is F, one fret up
    assert trilled.techniques.trill is not None
    assert (trilled.techniques.trill.fret, str(trilled.techniques.trill.pitch)) == (6, "F4")
    assert trilled.techniques.staccato
    assert trilled.techniques.accent
    assert shaken.techniques.vibrato == USUAL_VIBRATO
    # two strokes through a quarter are sixteenths
    assert struck.techniques.tremolo == SIXTEENTH


def test_a_short_first_bar_is_a_pickup() -> None:
    imported = read(file(note("E4", 2), note("F4", 8)))
    assert [bar.number for bar in imported.score.bars] == [0, 1]


@pytest.mark.parametrize(("quarters", "meter"), [(5, Meter(5, 4)), (3, Meter(3, 4))])
def test_a_bar_of_another_length_gets_its_own_meter(quarters: int, meter: Meter) -> None:
    imported = read(file(note("E4", 8), note("F4", 2 * quarters), note("F4", 8)))
    assert [bar.meter for bar in imported.score.bars] == [Meter(4, 4), meter, Meter(4, 4)]
    assert "bar-of-other-length" in codes(imported)


def test_two_measures_that_make_one_bar_are_one_bar() -> None:
    imported = read(file(note("E4", 8), note("F4", 2), note("G4", 6), note("F4", 8)))
    assert [bar.length for bar in imported.score.bars] == [1, 1, 1]
    assert [each.onset for each in imported.score.notes] == [0, 1, Fraction(5, 4), 2]
    assert "bar-of-other-length" not in codes(imported)


def test_a_bar_that_a_repeat_sign_divides_stays_two() -> None:
    again = '<barline location="right"><repeat direction="backward"/></barline>'
    imported = read(file(note("E4", 8), note("F4", 2) + again, note("G4", 6), note("F4", 8)))
    assert [bar.meter for bar in imported.score.bars] == [Meter(4, 4), Meter(1, 4), Meter(3, 4), Meter(4, 4)]


def test_a_last_bar_too_short_is_filled_with_rests() -> None:
    imported = read(file(note("E4", 8), note("F4", 2)))
    assert [bar.length for bar in imported.score.bars] == [1, 1]
    assert sum(rest.duration for rest in imported.score.rests) == Fraction(3, 4)


def test_a_part_is_chosen_and_the_others_are_named() -> None:
    imported = read(file(note("E4", 8), parts=3), part=2)
    finding = next(finding for finding in imported.findings if finding.code == "other-parts")
    assert "Voice 2" in finding.message
    with pytest.raises(ExchangeError, match="no part 4"):
        read(file(note("E4", 8), parts=3), part=4)


def test_a_timewise_score_is_turned_round() -> None:
    data = (
        b"<score-timewise><part-list><score-part id='P1'><part-name>G</part-name></score-part></part-list>"
        b"<measure number='1'><part id='P1'><attributes>" + _QUARTERS.encode() + b"</attributes>"
        + note("E4", 8).encode() + b"</part></measure></score-timewise>"
    )  # fmt: skip
    assert [str(each.pitch) for each in read(data).score.notes] == ["E4"]


def test_another_instrument_is_laid_out_on_its_own_neck() -> None:
    imported = read(file(note("E2", 8)), neck=Neck(TUNINGS["bass"]))
    assert imported.score.notes[0].place in Neck(TUNINGS["bass"]).places_of(40)


def test_unpitched_notes_alone_are_no_part() -> None:
    drum = "<note><unpitched/><duration>8</duration></note>"
    with pytest.raises(ExchangeError, match="no part with notes"):
        read(file(drum))


def test_repeats_that_never_end_are_left_out() -> None:
    again = '<barline location="right"><repeat direction="backward" times="30"/></barline>'
    imported = read(file(*(note("E4", 8) + again for _ in range(400))))
    assert "repeats-left-out" in codes(imported)
    assert len(imported.score.bars) == 400


def test_a_gap_between_notes_is_written_as_rests() -> None:
    imported = read(file(note("E4", 2) + rest(2) + note("F4", 4)))
    assert [(each.onset, each.duration) for each in imported.score.rests] == [
        (Fraction(1, 4), Fraction(1, 4))
    ]


def test_fingers_without_strings_are_said_to_be_left_out() -> None:
    fingered = note("A4", 8, "<notations><technical><fingering>1</fingering></technical></notations>")
    imported = read(file(fingered))
    assert imported.score.notes[0].finger is None
    assert "fingers of notes whose string is not given" in left_out(imported)


def test_a_bar_of_free_time_is_as_long_as_what_is_in_it() -> None:
    imported = read(file(note("E4", 8), note("F4", 8) + note("G4", 8) + note("A4", 1), note("E4", 8)))
    assert [bar.meter for bar in imported.score.bars] == [Meter(4, 4), Meter(17, 8), Meter(4, 4)]


def test_a_neck_is_as_long_as_the_frets_of_the_file_need() -> None:
    imported = read(file(note("E6", 8, at(1, 24))))
    assert imported.score.notes[0].place == Place(1, 24)
    assert imported.score.neck.frets == 24
