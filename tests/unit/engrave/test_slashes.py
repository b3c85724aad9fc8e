"""Rhythm slashes and charts: bars in rows of four, names in time, repeats, endings, words."""

from dataclasses import replace
from fractions import Fraction

import pytest

from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.score.score import AirStroke, Label, LabelKind, Score, Writing
from fretwright.score.techniques import Stroke, Techniques
from plate_reading import hull, ink, ink_of, middle, staff_top
from plate_scores import chord_name, words, written

CHORD = "5/3+4/2+3/0+2/1+1/0"


def slashes(score: Score) -> Score:
    """The same score written as rhythm slashes."""
    return replace(score, writing=Writing.SLASHES)


def chart(bars: int, *labels: Label, **fields: object) -> Score:
    """A chart without notes."""
    score = written(" ".join(["wr"] * bars), labels=labels)
    cut = tuple(
        replace(bar, **fields.get(f"bar{index + 1}", {}))  # type: ignore[arg-type]  # fields of a bar
        for index, bar in enumerate(score.bars)
    )
    return replace(score, rests=(), bars=cut, writing=Writing.SLASHES)


def test_what_is_struck_at_once_is_one_stemmed_slash_on_the_middle_line() -> None:
    plate = engrave(slashes(written(f"q{CHORD} e{CHORD} e{CHORD} h{CHORD}", strokes=True)))
    heads = ink(plate, "notehead")
    assert [each.name for each in heads] == ["noteheadSlashHorizontalEnds"] * 3 + ["noteheadSlashWhiteHalf"]
    assert all(middle(each)[1] == pytest.approx(staff_top(plate, 0) + 2) for each in heads)
    assert len(ink(plate, "stem")) == 4
    assert len(ink(plate, "beam")) == 1
    assert not ink(plate, "string")
    assert not ink(plate, "accidental")
    assert not overlaps(plate)


def test_strokes_accents_and_muted_strums_are_told() -> None:
    score = written(f"q{CHORD} q{CHORD} q{CHORD} q{CHORD}", strokes=True)
    ways = {Fraction(1, 4): Techniques(accent=True), Fraction(1, 2): Techniques(dead=True)}
    score = score.with_notes(
        tuple(replace(note, techniques=ways.get(note.onset, note.techniques)) for note in score.notes)
    )
    plate = engrave(slashes(replace(score, air_strokes=(AirStroke(Fraction(1, 8), Stroke.UP),))))
    assert [each.name for each in ink(plate, "notehead")][2] == "noteheadXBlack"
    assert len(ink(plate, "stroke")) == 5
    assert len(ink(plate, "bracket")) == 2
    (accent,) = ink(plate, "articulation")
    assert hull(accent).bottom < staff_top(plate, 0)
    assert not overlaps(plate)


def test_a_slash_is_the_box_of_every_note_it_stands_for() -> None:
    score = slashes(written(f"h{CHORD} h{CHORD}"))
    plate = engrave(score)
    assert set(plate.boxes) == {note.id for note in score.notes}
    first = [plate.boxes[note.id][0] for note in score.notes[:5]]
    assert len({(box.x, box.width) for box in first}) == 1


def test_a_chart_has_a_slash_for_each_beat_and_four_bars_in_a_row() -> None:
    names = [chord_name(Fraction(index), name) for index, name in enumerate(["Am", "F", "C", "G"] * 3)]
    plate = engrave(chart(12, *names))
    assert [(system.first_bar, system.last_bar) for system in plate.systems] == [(0, 3), (4, 7), (8, 11)]
    for system in range(3):
        assert len(ink_of(plate, system, "slash")) == 16
        assert len(ink_of(plate, system, "chord")) == 4
    assert not ink(plate, "stem")
    assert not overlaps(plate)
    assert {round(system.width) for system in plate.systems} == {170}


def test_a_part_of_the_song_starts_a_new_row() -> None:
    plate = engrave(chart(10, words(Fraction(0), "Verse"), words(Fraction(6), "Chorus")))
    assert [system.first_bar for system in plate.systems] == [0, 4, 6]


def test_names_stand_in_time_over_their_beats() -> None:
    plate = engrave(chart(4, chord_name(Fraction(0), "Am"), chord_name(Fraction(1, 2), "F")))
    beats = ink(plate, "slash")
    first, second = ink(plate, "chord")
    assert hull(first).left == pytest.approx(hull(beats[0]).left, abs=0.6)
    assert hull(second).left == pytest.approx(hull(beats[2]).left, abs=0.6)


def test_a_chart_has_its_repeats_endings_and_words() -> None:
    score = chart(
        4,
        Label(Fraction(0), "down by the river", LabelKind.LYRIC),
        bar1={"opens_repeat": True},
        bar3={"closes_repeat": 2, "endings": (1,)},
        bar4={"endings": (2,)},
    )
    plate = engrave(score)
    assert [each.text for each in ink(plate, "ending-number")] == ["1.", "2."]
    assert len(ink(plate, "repeat-dot")) == 4
    (line,) = ink(plate, "lyric")
    assert hull(line).top > staff_top(plate, 0) + 4
    assert not overlaps(plate)


def test_a_narrow_chart_has_two_bars_in_a_row() -> None:
    names = [chord_name(Fraction(n, 2), "Cmaj7") for n in range(16)]
    plate = engrave(chart(8, *names), PlateStyle(width_mm=100))
    assert [system.last_bar - system.first_bar + 1 for system in plate.systems] == [2, 2, 2, 2]
    assert not overlaps(plate)


def test_playheads_find_every_beat_of_a_chart() -> None:
    plate = engrave(chart(2))
    assert [moment.at for moment in plate.moments] == [Fraction(n, 4) for n in range(8)]
