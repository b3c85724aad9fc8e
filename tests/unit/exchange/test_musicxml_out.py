"""What stands in a written file, element by element (MusicXML 4.0, W3C, 2021)."""

from dataclasses import replace
from fractions import Fraction

import pytest
from lxml import etree

from exchange_scores import label, of_tuning, plain, rich
from fretwright.exchange.musicxml_out import write_musicxml
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from plate_scores import written


def tree(score: Score, *, tab_staff: bool = False) -> etree._Element:
    return etree.fromstring(write_musicxml(score, tab_staff=tab_staff))


def texts(root: etree._Element, path: str) -> list[str]:
    return [element.text or "" for element in root.iterfind(path)]


def test_line_one_of_the_tuning_is_the_bottom_line_and_string_one_the_top() -> None:
    # The standard: staff lines are numbered from bottom to top, strings from high to low.
    root = tree(of_tuning("standard"))
    lines = {
        line.get("line"): line.findtext("tuning-step") + line.findtext("tuning-octave")
        for line in root.iterfind(".//staff-tuning")
    }
    assert lines == {"1": "E2", "2": "A2", "3": "D3", "4": "G3", "5": "B3", "6": "E4"}
    first = root.find(".//note")
    assert first.findtext("notations/technical/string") == "6"
    assert first.findtext("pitch/step") + first.findtext("pitch/octave") == "E2"


def test_pitches_sound_and_the_clef_carries_the_octave() -> None:
    # The standard: an octave clef transposes nothing; there is no <transpose>.
    root = tree(plain())
    assert root.findtext(".//clef/sign") == "G"
    assert root.findtext(".//clef/clef-octave-change") == "-1"
    assert root.find(".//transpose") is None
    assert texts(root, ".//pitch/octave")[0] == "2"


@pytest.mark.parametrize(
    ("tuning", "sign", "change"), [("bass", "F", "-1"), ("GCEA", "G", None), ("DADGAD", "G", "-1")]
)
def test_each_instrument_has_its_clef(tuning: str, sign: str, change: str | None) -> None:
    root = tree(of_tuning(tuning))
    assert root.findtext(".//clef/sign") == sign
    assert root.findtext(".//clef/clef-octave-change") == change


def test_every_note_carries_its_id() -> None:
    score = rich()
    ids = [note.get("id") for note in tree(score).iterfind(".//note")]
    assert len(set(ids)) == len(ids)
    assert {note.id for note in score.notes} <= set(ids)


def test_a_chain_of_slurs_has_one_slur_and_a_sign_for_each_joint() -> None:
    root = tree(written("e5/5 e5/7h e5/8h q5/5p"))
    slurs = [(slur.get("type"), slur.getparent().getparent().get("id")) for slur in root.iterfind(".//slur")]
    assert slurs == [("start", "b1t0s5"), ("stop", "b1t3-8s5")]
    assert [sign.get("type") for sign in root.iterfind(".//hammer-on")] == ["start", "stop", "start", "stop"]
    assert [sign.get("type") for sign in root.iterfind(".//pull-off")] == ["start", "stop"]
    assert [sign.text for sign in root.iterfind(".//hammer-on[@type='start']")] == ["H", "H"]


def test_a_slide_stands_among_the_notations_and_not_among_the_technical_signs() -> None:
    root = tree(written("q5/5 q5/7s"))
    assert [slide.get("type") for slide in root.iterfind(".//notations/slide")] == ["start", "stop"]
    assert root.find(".//technical/slide") is None


def test_strokes_are_bows_and_fingers_digits() -> None:
    # The standard: down-bow and up-bow also stand for strokes on plucked instruments.
    root = tree(plain())
    technical = root.find(".//note/notations/technical")
    assert [child.tag for child in technical] == ["down-bow", "string", "fret", "hammer-on"]
    assert texts(tree(rich()), ".//fingering") == ["T"]


def test_accidentals_hold_until_the_bar_ends() -> None:
    # G, G sharp, G sharp, G, then a bar line and G sharp again: sharp, natural, sharp.
    root = tree(written("q3/0 q3/1 q3/1 q3/0 q3/1", key="A minor"))
    assert texts(root, ".//accidental") == ["sharp", "natural", "sharp"]


def test_eighths_are_beamed_by_the_beat_and_a_sixteenth_has_a_hook() -> None:
    root = tree(written("e4/0 e4/2 e.4/4 s4/5 er e4/0 q4/0"))
    beams = [
        [(beam.get("number"), beam.text) for beam in note.iterfind("beam")]
        for note in root.iterfind(".//note")
    ]
    assert beams == [
        [("1", "begin")],
        [("1", "end")],
        [("1", "begin")],
        [("1", "end"), ("2", "backward hook")],
        [],
        [],
        [],
    ]


def test_triplets_are_grouped_by_three() -> None:
    root = tree(written("ex4/0 ex4/2 ex4/4 ex4/0 ex4/2 ex4/4 h4/0"))
    assert [tuplet.get("type") for tuplet in root.iterfind(".//tuplet")] == ["start", "stop"] * 2
    assert root.findtext(".//time-modification/actual-notes") == "3"
    assert root.findtext(".//divisions") == "3"


def test_repeats_endings_and_a_pickup() -> None:
    root = tree(rich())
    measures = root.findall(".//measure")
    assert measures[0].get("number") == "0"
    assert measures[0].get("implicit") == "yes"
    assert measures[1].find("barline[@location='left']/repeat").get("direction") == "forward"
    closing = measures[2].find("barline[@location='right']/repeat")
    assert (closing.get("direction"), closing.get("times")) == ("backward", "3")
    assert [ending.get("number") for ending in root.iterfind(".//ending[@type='start']")] == ["1, 2", "3"]


def test_tempo_counts_its_own_beat_on_paper_and_quarters_in_sound() -> None:
    score = written("e6/5 e6/8 e5/5 e5/7 e5/5 e4/5", meter=Meter(6, 8))
    root = tree(replace(score, tempo=score.tempo.at_start(60)))
    assert root.findtext(".//beat-unit") == "quarter"
    assert root.find(".//beat-unit-dot") is not None
    assert root.findtext(".//per-minute") == "60"
    assert root.find(".//sound").get("tempo") == "90"


def test_the_tab_staff_is_an_alternate_and_repeats_every_note() -> None:
    # The standard: an alternate staff shares the music of the one before and is not played.
    root = tree(plain(), tab_staff=True)
    assert root.findtext(".//staff-details/staff-type") == "alternate"
    assert root.findtext(".//staff-details/staff-lines") == "6"
    assert texts(root, ".//note/staff").count("1") == texts(root, ".//note/staff").count("2") == 8
    assert root.find(".//note[staff='2']/accidental") is None


def test_characters_that_xml_cannot_hold_are_left_out() -> None:
    score = replace(plain(), title="bell\x07 \ud800 ring")
    assert tree(score).findtext("work/work-title") == "bell  ring"


def test_a_label_between_notes_keeps_its_time() -> None:

    score = written("w6/0", labels=[label(Fraction(3, 8), "now")])
    root = tree(score)
    assert root.findtext(".//direction[2]/offset") == str(3 * int(root.findtext(".//divisions")) // 2)
