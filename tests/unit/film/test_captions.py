import re
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from charts import chart
from fretwright.engrave.walkthrough import Sentence, walk_through
from fretwright.film.captions import Cue, captions, web_vtt
from fretwright.film.captions_text import two_lines
from fretwright.film.clock import clock_of
from fretwright.score.score import Score
from plate_gallery_signs import SIGNS
from plate_scores import wandering
from scores import line

RUN = line("6/5 6/8h 5/5 5/7h 4/5 4/7h 3/5 3/7h 2/5 2/8 1/5 1/8 r r r r")
CLOCK = clock_of(RUN, 20.0)
"""Slow enough for every word to be read."""


def repeated(score: Score) -> Score:
    return replace(score, bars=(*score.bars[:-1], replace(score.bars[-1], closes_repeat=2)))


def test_every_sentence_is_said_while_what_it_tells_is_played() -> None:
    sentences = walk_through(RUN).sentences
    cues = captions(RUN, sentences, CLOCK)
    onsets = {note.note_id: note.onset_s for note in CLOCK.notes}

    for sentence in sentences:
        if not sentence.note_ids:
            continue
        said = [cue.text for cue in cues if abs(cue.start_s - onsets[sentence.note_ids[0]]) < 1e-6]
        assert len(said) == 1
        assert sentence.text.startswith(said[0].replace("\n", " ")[:12])


def test_nothing_that_the_walk_through_says_is_lost() -> None:
    words = " ".join(sentence.text for sentence in walk_through(RUN).sentences)

    said = " ".join(cue.text.replace("\n", " ") for cue in captions(RUN, walk_through(RUN).sentences, CLOCK))

    assert said == words


def test_what_is_said_of_the_whole_stands_before_the_music() -> None:
    cues = captions(RUN, walk_through(RUN).sentences, CLOCK)

    assert cues[0].start_s == 0.0
    assert any(cue.end_s == pytest.approx(CLOCK.music_starts_s) for cue in cues)


def test_a_repeat_is_told_again() -> None:
    score = repeated(RUN)
    cues = captions(score, walk_through(score).sentences, clock_of(score, 20.0))

    told = [cue.text for cue in cues if "ixth string" in cue.text]
    assert len(told) == 2


def test_cues_follow_each_other_and_never_overlap() -> None:
    cues = captions(RUN, walk_through(RUN).sentences, CLOCK)

    for sooner, later in pairwise(cues):
        assert sooner.start_s < sooner.end_s <= later.start_s + 1e-9


@given(words=st.lists(st.text("abcdefghij.,;", min_size=1, max_size=14), min_size=1, max_size=60))
def test_a_cue_has_at_most_two_lines_of_42_characters(words: list[str]) -> None:
    text = " ".join(words)

    cues = captions(RUN, [Sentence(text, (CLOCK.notes[0].note_id,), 1)], CLOCK)

    assert " ".join(cue.text.replace("\n", " ") for cue in cues) == text
    assert all(len(row) <= 42 for cue in cues for row in cue.text.split("\n"))
    assert all(cue.text.count("\n") <= 1 for cue in cues)


@settings(max_examples=40)
@given(seed=st.integers(0, 10_000), bpm=st.integers(20, 400))
def test_no_cue_asks_for_more_than_can_be_read(seed: int, bpm: int) -> None:
    # 20 characters a second, two lines of 42 characters: common practice of subtitlers, no source
    score, _ = wandering(seed)
    cues = captions(score, walk_through(score).sentences, clock_of(score, float(bpm)).later(3.0))

    for cue in cues:
        assert len(cue.text) <= 20 * (cue.end_s - cue.start_s) + 1e-6
        assert cue.end_s - cue.start_s >= 1.0 - 1e-9
        assert all(len(row) <= 42 for row in cue.text.split("\n"))
        assert cue.text.count("\n") <= 1
    assert all(one.end_s <= other.start_s + 1e-9 for one, other in pairwise(cues))


def told_at(score: Score, bpm: float) -> list[str]:
    clock = clock_of(score, bpm)
    return [
        cue.text.replace("\n", " ")
        for cue in captions(score, walk_through(score).sentences, clock)
        if cue.start_s >= clock.music_starts_s - 1e-6
    ]


def test_quick_music_is_told_in_the_figures_of_its_tab_and_then_in_its_bounds() -> None:
    assert told_at(RUN, 60.0) == [
        "Bar 1: string 6: 5 h 8; string 5: 5 h 7; string 4: 5 h 7; string 3: 5 h 7",
        "Bar 2: string 2: 5 8; string 1: 5 8",
    ]
    assert told_at(RUN, 90.0)[0] == "Bar 1: strings 6 to 3, frets 5 to 8, with hammer-ons"
    assert told_at(RUN, 150.0)[0] == "Bars 1 and 2: strings 6 to 1, frets 5 to 8, with hammer-ons"
    assert told_at(RUN, 300.0) == ["Bars 1 and 2: strings 6 to 1"]
    assert told_at(RUN, 400.0) == []


def test_a_quick_repeat_is_told_again_and_not_joined_to_the_first_time() -> None:
    told = told_at(repeated(RUN), 180.0)

    assert [words.split(":")[0] for words in told] == ["Bars 1 and 2", "Bars 1 and 2, again"]


def test_a_chart_is_told_by_its_chord_names() -> None:
    assert told_at(chart(["A7", "D7", "A7 E7"]), 100.0) == ["Bar 1: A7", "Bar 2: D7", "Bar 3: A7, E7"]


def test_a_caption_is_broken_where_its_sense_is() -> None:
    assert (
        two_lines("Bar 1: string 3: 8 / 10; string 2: 8 11 p 8")
        == "Bar 1: string 3: 8 / 10;\nstring 2: 8 11 p 8"
    )
    assert two_lines("one line is enough") == "one line is enough"


def test_held_chords_are_named_and_their_strokes_where_there_is_time() -> None:
    score, _ = SIGNS["strummed"]

    assert told_at(score, 60.0)[0] == "Bar 1: C: down down up up down"
    assert told_at(score, 180.0) == ["Bar 1: C", "Bar 2: G"]
    assert told_at(score, 300.0) == ["Bars 1 and 2: C, G"]


def test_a_webvtt_file_has_the_form_of_the_standard() -> None:
    # W3C WebVTT: the signature, a blank line, then blocks of a timing line and text, blank lines between.
    text = web_vtt([Cue(0.0, 1.5, "One & <two>"), Cue(3_661.25, 3_662.0, "Three\nfour")])

    assert text.startswith("WEBVTT\n\n")
    assert "00:00:00.000 --> 00:00:01.500\nOne &amp; &lt;two&gt;\n" in text
    assert "01:01:01.250 --> 01:01:02.000\nThree\nfour\n" in text
    assert re.fullmatch(r"WEBVTT\n(\n\d\d:\d\d:\d\d\.\d{3} --> \d\d:\d\d:\d\d\.\d{3}\n(.+\n)+)*", text)
