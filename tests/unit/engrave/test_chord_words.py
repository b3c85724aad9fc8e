"""Chords in words: the walk-through of a strummed or picked exercise, and what a change asks of the hand."""

from fractions import Fraction
from pathlib import Path

import pytest

from fretwright.course.reader import read_course
from fretwright.engrave.change_words import change_title, change_words, level_of
from fretwright.engrave.chord_sheet import changes_told, chords_of, chords_picture
from fretwright.engrave.walkthrough import WalkThrough, walk_through
from fretwright.engrave.walkthrough_held import place_words
from fretwright.fingering.finger import finger
from fretwright.fretboard.change import Change, change
from fretwright.fretboard.chart_voicings import chart_voicings
from fretwright.fretboard.neck import Neck
from fretwright.score.meter import Meter
from fretwright.score.score import Score
from fretwright.theory.chord import Chord

HEAD = "---\ntitle: A\ngoal: B\n---\n"


def score_of(folder: Path, *keys: str, block: str = "exercise") -> Score:
    (folder / "lessons").mkdir()
    (folder / "course.yaml").write_text("title: T\nteacher: T\n")
    text = "\n".join([f"{HEAD}\n```{block} a", "tempo: 72", *keys, "```\n"])
    (folder / "lessons" / "01-a.md").write_text(text)
    reading = read_course(folder)
    assert not [finding for finding in reading.findings if finding.is_error], reading.findings
    (exercise,) = reading.course.exercises
    return finger(exercise.score).score


_IN_EVERY_BAR = (
    "In every bar: down stroke on one, accented down stroke on two, up stroke on the and of two, "
    "up stroke in the air on the and of three, muted down stroke on four, silence on the and of four."
)


def ids_told(walk: WalkThrough) -> list[str]:
    return [note_id for sentence in walk.sentences for note_id in sentence.note_ids]


def test_a_strummed_chart_is_told_by_chords_pattern_and_bars(tmp_path: Path) -> None:
    score = score_of(tmp_path, "chords: Em | G D | Em", "strum: d . D u . (u) dx r")
    walk = walk_through(score)
    assert walk.summary == "E minor, G major and D major, strummed: three bars of four four time."
    assert walk.sentences[1].text == (
        "E minor. Sixth string open, E; fifth string fret two, first finger, B; fourth string fret two, "
        "second finger, E; third string open, G; second string open, B; first string open, E."
    )
    assert [sentence.text for sentence in walk.sentences[4:]] == [
        _IN_EVERY_BAR,
        "Bar one: E minor.",
        "Bar two: G major on one; D major on three.",
        "Bar three: E minor.",
    ]
    assert ids_told(walk) == [note.id for note in score.notes]


def test_what_differs_is_said_of_its_bar(tmp_path: Path) -> None:
    strum = "strum: |\n  d d d d\n  d d d d\n  d . b u2"
    score = score_of(tmp_path, "chords: Am | . | E", strum, "lyrics: one two- three | | four")
    told = [sentence.text for sentence in walk_through(score).sentences]
    assert (
        "Where nothing else is said: down stroke on one, down stroke on two, down stroke on three, "
        "down stroke on four."
    ) in told
    assert told[-3:] == [
        "Bar one: sung, “one twothree”; A minor.",
        "Bar two: the same chord.",
        "Bar three: sung, “four”; E major; pattern A.",
    ]
    assert (
        "Pattern A: down stroke on one, down stroke on the bass string on three, "
        "up stroke over its highest two strings on four."
    ) in told


def test_a_picked_pattern_names_fingers_and_strings(tmp_path: Path) -> None:
    score = score_of(tmp_path, "chords: C | Am", "meter: 6/8", "picking: p i m pA m i")
    walk = walk_through(score)
    assert (
        "In every bar: thumb on the bass string on one, index on the third string on two, "
        "middle on the second string on three, thumb on the bass string and ring on the first string, "
        "accented on four, middle on the second string on five, index on the third string on six."
    ) in [sentence.text for sentence in walk.sentences]
    assert ids_told(walk) == [note.id for note in score.notes]


def test_notes_that_no_chord_holds_are_told_one_by_one(tmp_path: Path) -> None:
    tab = "tab: |\n  e|-0-|\n  B|-1-|\n  G|-0-|\n  D|-2-|\n  A|-3-|\n  E|---|"
    score = score_of(tmp_path, "chords: C", "rhythm: w", tab)
    assert "together" in walk_through(score).text.lower()


@pytest.mark.parametrize(
    ("at", "meter", "words"),
    [("0", "4/4", "on one"), ("3/8", "4/4", "on the and of two"), ("1/16", "4/4", "a quarter after one"),
     ("5/12", "4/4", "two thirds after two"), ("3/8", "6/8", "on four"),
     ("3/16", "6/8", "on the and of two")],
)  # fmt: skip
def test_places_in_a_bar(at: str, meter: str, words: str) -> None:
    count, unit = map(int, meter.split("/"))
    assert place_words(Fraction(at), Meter(count, unit)) == words


def changed(before: str, after: str) -> Change:
    chords = [Chord.parse(before), Chord.parse(after)]
    held = chart_voicings(chords, Neck())
    return change(held[chords[0]], held[chords[1]])


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("C", "Am", "The first finger stays on the second string, fret one, the second finger stays on"),
        ("E", "B7", "The second finger stays on the fifth string, fret two"),
        ("A", "D", "The third finger slides along the second string from fret two to fret three"),
        ("C", "F", "The first finger stays on the second string, fret one, laid flat"),
        ("G", "C", "no finger shows the way"),
    ],
)
def test_what_leads_a_change(before: str, after: str, said: str) -> None:
    """Fingers that stay and guide fingers of these changes: common practice, no source."""
    assert said in change_words(changed(before, after))


def test_changes_from_easy_to_hard() -> None:
    """A power chord moved by a string, a full chord at the nut, a barre, and a barre far away."""
    pairs = [("E5", "A5"), ("G", "C"), ("Am", "F"), ("E", "C#m")]
    levels = [level_of(changed(*pair)) for pair in pairs]
    assert levels == ["an easy change", "a change to get used to", "a hard change", "a very hard change"]


def test_changes_of_a_score_are_told_once_and_the_hardest_first(tmp_path: Path) -> None:
    score = score_of(tmp_path, "chords: C | Am | F | C | Am | F", "strum: d d d d")
    told = changes_told(score)
    assert [each.title for each in told] == ["From Am to F", "From C to Am", "From F to C"]
    assert [each.cost for each in told] == sorted((each.cost for each in told), reverse=True)


def test_chords_of_several_scores_stand_once(tmp_path: Path) -> None:
    score = score_of(tmp_path, "chords: C | G | C", "strum: d d d d")
    voicings = chords_of([score, score])
    assert [str(voicing.chord) for voicing in voicings] == ["C", "G"]
    right = chords_picture(voicings, title="Chords", id_prefix="c")
    left = chords_picture(voicings, title="Chords", id_prefix="c", left_handed=True)
    assert right.svg != left.svg
    assert right.svg.count('class="chord"') == 2
    assert "C♯" not in right.description
    assert "o is an open string" in right.legend


def test_title_of_a_change() -> None:
    assert change_title(changed("Bb", "F")) == "From B♭ to F"
