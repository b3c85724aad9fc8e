"""The order in which bars are played, against music21 and case by case."""

from fractions import Fraction
from typing import Any

import pytest

from fretwright.base.errors import ScoreError
from fretwright.score.meter import COMMON_TIME
from fretwright.score.score import Bar
from fretwright.score.unfold import unfold

F = Fraction


def bars(text: str) -> list[Bar]:
    """Bars from signs: ``|:`` opens a repeat, ``:|`` or ``:3|`` closes it, ``[1,2]`` stands before a bar
    under a bracket, ``0`` is a pickup and any other word a bar."""
    made: list[Bar] = []
    endings: tuple[int, ...] = ()
    opens, start, number = False, F(0), 1
    for word in text.split():
        if word == "|:":
            opens = True
        elif word.startswith("["):
            endings = tuple(int(n) for n in word[1:-1].split(","))
        elif word.startswith(":"):
            last = made[-1]
            times = int(word[1:-1] or 2)
            made[-1] = Bar(
                last.number, last.start, COMMON_TIME, last.length, last.opens_repeat, times, last.endings
            )
        else:
            is_pickup = word == "0"
            length = F(1, 4) if is_pickup else F(1)
            made.append(Bar(0 if is_pickup else number, start, COMMON_TIME, length, opens, 0, endings))
            number += not is_pickup
            start += length
            opens, endings = False, ()
    return made


def played(text: str) -> str:
    return " ".join(str(each.bar.number) for each in unfold(bars(text)))


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a b c", "1 2 3"),
        ("a b :|", "1 2 1 2"),
        ("a |: b c :| d", "1 2 3 2 3 4"),
        ("|: a :| |: b :|", "1 1 2 2"),
        ("a :| b :|", "1 1 2 2"),
        ("|: a :3| b", "1 1 1 2"),
        ("|: a [1] b :| [2] c d", "1 2 1 3 4"),
        ("|: a [1] b [1] c :| [2] d [2] e f", "1 2 3 1 4 5 6"),
        ("|: a [1] b :| [2] c :| d", "1 2 1 3 4"),
        ("|: a [1,2] b :| [3] c d", "1 2 1 2 1 3 4"),
        ("|: a [1] b :3| [2] c :3| [3] d e", "1 2 1 3 1 4 5"),
        ("|: a [1] b :| [2] c |: d [1] e :| [2] f", "1 2 1 3 4 5 4 6"),
        # a pickup is played once
        ("0 a b :|", "0 1 2 1 2"),
        ("0 |: a :| b", "0 1 1 2"),
        ("0", "0"),
        ("", ""),
    ],
)
def test_repeats_and_endings(text: str, expected: str) -> None:
    assert played(text) == expected


@pytest.mark.parametrize(
    "text",
    ["a b c", "a b :|", "a |: b c :| d", "|: a :| |: b :|", "|: a :3| b", "|: a [1] b :| [2] c d"],
)
def test_the_order_is_that_of_music21(text: str) -> None:
    from music21 import bar as signs
    from music21 import note, repeat, spanner, stream

    part: Any = stream.Part()
    measures = []
    for each in bars(text):
        measure: Any = stream.Measure(number=each.number)
        measure.append(note.Note("C4", type="whole"))
        if each.opens_repeat and each.number > 1:
            measure.leftBarline = signs.Repeat(direction="start")
        if each.closes_repeat:
            measure.rightBarline = signs.Repeat(direction="end", times=each.closes_repeat)
        measures.append(measure)
        part.append(measure)
        for ending in each.endings:
            part.insert(0, spanner.RepeatBracket(measure, number=ending))
    order = [measure.number for measure in repeat.Expander(part).process().getElementsByClass("Measure")]
    assert " ".join(map(str, order)) == played(text)


def test_each_time_through_is_counted() -> None:
    row = [(each.bar.number, each.time_through) for each in unfold(bars("|: a [1] b :| [2] c"))]
    assert row == [(1, 1), (2, 1), (1, 2), (3, 1)]


def test_repeats_without_end_are_refused() -> None:
    with pytest.raises(ScoreError, match="never come to an end"):
        unfold(bars("|: a :1000000|"))
