"""Sung words under the staff."""

from fractions import Fraction
from itertools import pairwise

from fretwright.engrave.ink import Line, Text
from fretwright.engrave.overlaps import overlaps
from fretwright.engrave.plate import engrave
from fretwright.engrave.style import PlateStyle
from fretwright.engrave.verses import verses_of
from fretwright.engrave.walkthrough import walk_through
from fretwright.score.score import Label, LabelKind
from plate_reading import hull, ink, middle, staff_top, tab_top
from plate_scores import written


def sung(*words: tuple[str, str]) -> list[Label]:
    """Words with their times in fractions of a whole note."""
    return [Label(Fraction(at), text, LabelKind.LYRIC) for at, text in words]


RIVER = sung(("0", "slow"), ("1/4", "riv-"), ("1/2", "er_"), ("1", "down"))


def test_syllables_stand_under_their_notes_and_between_staff_and_tab() -> None:
    plate = engrave(written("q3/5 q3/7 h2/5 w2/6", labels=RIVER))
    words = [each for each in ink(plate, "lyric") if isinstance(each, Text) and each.text != "-"]
    assert [each.text for each in words] == ["slow", "riv", "er", "down"]
    assert len({each.y for each in words}) == 1
    for word, number in zip(words, ink(plate, "fret"), strict=True):
        assert abs(middle(word)[0] - middle(number)[0]) < 0.5
    assert all(
        staff_top(plate, 0) + 4 < hull(each).top and hull(each).bottom < tab_top(plate, 0) for each in words
    )


def test_a_hyphen_stands_between_two_syllables_of_a_word() -> None:
    plate = engrave(written("q3/5 q3/7 h2/5 w2/6", labels=RIVER))
    words = {each.text: hull(each) for each in ink(plate, "lyric") if isinstance(each, Text)}
    assert words["riv"].right < words["-"].left < words["-"].right < words["er"].left
    middle_of_gap = (words["riv"].right + words["er"].left) / 2
    assert abs((words["-"].left + words["-"].right) / 2 - middle_of_gap) < 0.05


def test_a_held_syllable_has_a_line_to_the_next() -> None:
    plate = engrave(written("q3/5 q3/7 h2/5 w2/6", labels=RIVER))
    (line,) = [each for each in ink(plate, "lyric") if isinstance(each, Line)]
    words = {each.text: hull(each) for each in ink(plate, "lyric") if isinstance(each, Text)}
    assert words["er"].right < line.x0 < line.x1 < words["down"].left


def test_two_words_at_one_time_are_two_verses() -> None:
    labels = sung(("0", "first"), ("0", "second"), ("1/2", "on"))
    assert [[each.text for each in row] for row in verses_of(labels)] == [["first", "on"], ["second"]]
    plate = engrave(written("h3/5 h3/7", labels=labels))
    first, second = (next(e for e in ink(plate, "lyric") if e.text == text) for text in ("first", "second"))
    assert hull(second).top > hull(first).bottom


def test_long_syllables_push_their_notes_apart() -> None:
    words = [(f"{n}/8", "through-") for n in range(8)]
    plate = engrave(written(" ".join(["e3/5"] * 8), labels=sung(*words)))
    texts = [hull(each) for each in ink(plate, "lyric") if each.text == "through"]
    assert all(left.right < right.left for left, right in pairwise(texts))
    assert len([each for each in ink(plate, "lyric") if each.text == "-"]) == 8
    assert not overlaps(plate)


def test_words_in_a_row_start_at_their_moment() -> None:
    plate = engrave(written("w3/5 w3/7", labels=sung(("0", "down by the river"))))
    (line,) = ink(plate, "lyric")
    assert hull(line).left < middle(ink(plate, "fret")[0])[0]
    assert hull(line).right > middle(ink(plate, "fret")[0])[0] + 3


def test_tab_alone_has_its_words_under_the_rhythm() -> None:
    plate = engrave(written("q3/5 q3/7 h2/5 w2/6", labels=RIVER), PlateStyle(staff=False))
    lowest = max(hull(each).bottom for each in ink(plate, "stem"))
    assert all(
        hull(each).top > lowest for each in ink(plate, "lyric") if isinstance(each, Text) and each.text != "-"
    )
    assert not overlaps(plate)


def verses(*words: tuple[str, str, int]) -> list[Label]:
    """Words with their times and their verses."""
    return [Label(Fraction(at), text, LabelKind.LYRIC, verse=verse) for at, text, verse in words]


def test_a_verse_keeps_its_row_where_the_first_is_silent() -> None:
    labels = verses(("0", "one", 1), ("1/4", "two", 2), ("1/2", "on", 1), ("1/2", "in", 3))
    assert [[each.text for each in row] for row in verses_of(labels)] == [["one", "on"], ["two"], ["in"]]


def test_several_verses_have_their_numbers_before_their_first_words() -> None:
    labels = verses(("0", "slow", 1), ("0", "quick", 2), ("1/2", "down", 1), ("1/2", "up", 2))
    plate = engrave(written("h3/5 h3/7", labels=labels))
    words = {each.text: each for each in ink(plate, "lyric") if isinstance(each, Text)}
    assert set(words) == {"1.", "slow", "down", "2.", "quick", "up"}
    assert words["1."].y == words["slow"].y < words["2."].y == words["quick"].y
    for number, word in (("1.", "slow"), ("2.", "quick")):
        assert hull(words[number]).right < hull(words[word]).left
    assert not overlaps(plate)
    alone = engrave(written("h3/5 h3/7", labels=[label for label in labels if label.verse == 1]))
    assert not [each for each in ink(alone, "lyric") if isinstance(each, Text) and each.text == "1."]


def test_what_is_sung_is_told_verse_by_verse() -> None:
    labels = verses(("0", "slow", 1), ("0", "quick", 2), ("1/2", "riv-", 1), ("1", "er_", 1))
    told = walk_through(written("h3/5 h3/7 w3/5", labels=labels)).text
    assert "Sung, “slow river”." in told
    assert "Second verse, “quick”." in told
    assert told.count("slow") == 1
