"""Trills, tremolos, grace notes, dead strings: what belongs to a note is no fault, and the rest still is."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fretwright.ear.take import RATE_HZ, Take
from fretwright.ear.verdicts import HeardAttack
from fretwright.fretboard.neck import Place
from fretwright.score.score import Score
from fretwright.score.techniques import Grace, Techniques, Trill
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, QUARTER, SIXTEENTH
from fretwright.theory.pitch import Pitch
from plucked_takes import as_written, heard, take_of, verdicts
from scores import line

WORDS = "3/7 3/5 4/7 4/5 3/5 3/7 2/5 2/8"


def with_techniques(score: Score, index: int, techniques: Techniques) -> Score:
    notes = list(score.notes)
    notes[index] = replace(notes[index], techniques=techniques)
    return score.with_notes(tuple(notes))


def quarters() -> Score:
    return line(WORDS, values=[QUARTER] * 8)


def plain(score: Score, start_s: float = 0.5, stretch: float = 1.0) -> list[tuple[float, float]]:
    return as_written(timeline(score), start_s, stretch)


def struck_again(played: Sequence[tuple[float, float]], index: int, count: int) -> list[tuple[float, float]]:
    """The note at ``index`` struck ``count`` times, evenly until the next."""
    (at_s, midi), (until_s, _) = played[index], played[index + 1]
    strokes = [(at_s + number * (until_s - at_s) / count, midi) for number in range(count)]
    return [*played[:index], *strokes, *played[index + 1 :]]


def test_the_strokes_of_a_tremolo_are_one_note_at_whatever_tempo() -> None:
    score = with_techniques(quarters(), 2, Techniques(tremolo=SIXTEENTH))
    for stretch in (1.0, 0.86):
        played = struck_again(plain(score, stretch=stretch), 2, 4)

        found = heard(take_of(played), timeline(score))

        assert verdicts(found) == ["played"] * 8
        assert found.extras == ()


def test_strokes_that_were_not_asked_for_are_still_too_many() -> None:
    score = quarters()

    found = heard(take_of(struck_again(plain(score), 2, 3)), timeline(score))

    assert len(found.extras) == 2


def test_another_note_inside_a_tremolo_is_still_too_many() -> None:
    score = with_techniques(quarters(), 2, Techniques(tremolo=EIGHTH))
    played = struck_again(plain(score), 2, 2)
    slipped = played[3][0]
    played[3] = (slipped, played[3][1] + 3)

    found = heard(take_of(played), timeline(score))

    assert [extra.midi for extra in found.extras] == [played[3][1]]


def test_a_trill_may_go_to_and_fro_as_often_as_it_likes() -> None:
    trill = Trill(fret=8, pitch=Pitch.parse("D#4"), value=SIXTEENTH)
    score = with_techniques(quarters(), 0, Techniques(trill=trill))
    own = score.notes[0].midi
    for count in (4, 6):
        played = struck_again(plain(score), 0, count)
        played = [
            (at_s, own + (place % 2) if place < count else midi) for place, (at_s, midi) in enumerate(played)
        ]

        found = heard(take_of(played), timeline(score))

        assert verdicts(found) == ["played"] * 8
        assert found.extras == ()


def test_a_grace_note_is_no_note_too_many_and_hides_how_its_note_began() -> None:
    grace = Grace(Place(3, 5), Pitch.parse("C4"))
    score = with_techniques(quarters(), 5, Techniques(graces=(grace,)))
    played = plain(score)
    played.insert(5, (played[5][0] - 0.09, grace.pitch.midi))

    found = heard(take_of(played), timeline(score))

    assert verdicts(found) == ["played"] * 8
    assert found.extras == ()
    assert found.notes[5].attack in {HeardAttack.UNSURE, HeardAttack.SLUR}


def dead_notes(score: Score, places: Sequence[int]) -> Score:
    for place in places:
        score = with_techniques(score, place, Techniques(dead=True))
    return score


def with_knocks(take: Take, times_s: Sequence[float]) -> Take:
    """Bursts of noise that die away within some hundredths of a second: strings that are only touched."""
    samples, rng = take.samples.copy(), np.random.default_rng(3)
    for at_s in times_s:
        start, count = round(at_s * RATE_HZ), round(0.05 * RATE_HZ)
        knock = rng.normal(0, 0.12, count) * np.exp(-np.arange(count) / (0.012 * RATE_HZ))
        samples[start : start + count] += knock.astype(np.float32)
    return Take(samples)


def test_a_dead_string_is_heard_as_a_stroke_without_a_pitch() -> None:
    dead = (2, 5)
    score = dead_notes(quarters(), dead)
    sounding = [played for place, played in enumerate(plain(score)) if place not in dead]
    # what rings is damped when the string is touched
    take = with_knocks(take_of(sounding), [plain(score)[place][0] for place in dead])

    found = heard(take, timeline(score))

    assert verdicts(found) == ["played"] * 8
    assert [found.notes[place].heard_midi for place in dead] == [None, None]
    assert [found.notes[place].pitch_cents for place in dead] == [None, None]


def test_a_dead_string_that_was_not_found_is_not_called_missed() -> None:
    score = dead_notes(quarters(), (2,))
    sounding = [played for place, played in enumerate(plain(score)) if place != 2]

    found = heard(take_of(sounding), timeline(score))

    assert verdicts(found)[2] == "unsure"


def test_a_slur_off_a_tapped_note_is_not_called_plucked() -> None:
    score = line("3/12t 3/5p 3/7h 3/5p 2/5 2/8 2/5 3/7", values=[QUARTER] * 8)

    found = heard(take_of(plain(score)), timeline(score))

    assert all(note.attack is not HeardAttack.PLUCK for note in found.notes[1:4])
