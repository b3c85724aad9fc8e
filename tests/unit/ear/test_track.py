"""A lesson's track, heard: what is played where, and what is none of it."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soxr

from fretwright.ear.take import RATE_HZ, Refusal
from fretwright.ear.track import TrackHearing, hear_sound, hear_track
from fretwright.ear.track_search import Found, Line, best_together, events_of
from fretwright.ear.track_sound import UnheardError, sound_of
from fretwright.ear.verdicts import Verdict
from fretwright.score.score import Score
from fretwright.score.timeline import timeline
from lesson_tracks import RATE_HZ as TRACK_RATE_HZ
from lesson_tracks import LessonTrack, Truth
from recordings import Camera, record
from scores import line

UP = line("6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7")
BACK = line("6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7 2/5 2/8 1/5 1/8 1/8 1/5 2/8 2/5")
LEAPS = line("6/5 4/7 5/5 3/7 4/5 2/8 3/5 1/8 2/5 3/7 4/7 5/7")
LESSON = {"up": UP, "back": BACK, "leaps": LEAPS}


def heard(track: LessonTrack, lesson: dict[str, Score], block_s: float = 7.0) -> TrackHearing | Refusal:
    samples = soxr.resample(track.samples, TRACK_RATE_HZ, RATE_HZ).astype(np.float32)
    size = round(block_s * RATE_HZ)
    lines = [Line(name, timeline(score, 90.0)) for name, score in lesson.items()]
    return hear_sound(lambda: (samples[at : at + size] for at in range(0, len(samples), size)), lines)


def found(track: LessonTrack, lesson: dict[str, Score] | None = None) -> TrackHearing:
    hearing = heard(track, lesson or LESSON)
    assert isinstance(hearing, TrackHearing), hearing
    return hearing


def off_s(hearing: TrackHearing, truths: list[Truth]) -> Iterator[float]:
    """How far each note was heard from where it was played."""
    for one, truth in zip(hearing.demonstrations, truths, strict=True):
        assert one.name == truth.name
        assert one.first == 0
        for note, onset_s in zip(one.notes, truth.onsets_s, strict=True):
            assert note.onset_s is not None, (one.name, note.id)
            yield abs(note.onset_s - onset_s)


@pytest.fixture(scope="module")
def whole_lesson() -> LessonTrack:
    """Slow and fast, a false start, one exercise that is the beginning of another."""
    track = LessonTrack().pause(0.5).talk(4.0).pause(0.4)
    track.play("up", UP, 60.0).pause(0.3).talk(2.0).pause(0.5).play("up", UP, 120.0)
    track.talk(3.0).pause(0.3).play("back", BACK, 70.0, notes=13).pause(0.8).play("back", BACK, 70.0)
    track.pause(0.6).play("back", BACK, 130.0).pause(0.2).talk(3.0).pause(0.7)
    return track.play("leaps", LEAPS, 90.0).pause(0.5).talk(2.0)


@pytest.fixture(scope="module")
def hearing(whole_lesson: LessonTrack) -> TrackHearing:
    return found(whole_lesson)


def test_every_demonstration_is_found_and_each_note_within_20_ms(
    whole_lesson: LessonTrack, hearing: TrackHearing
) -> None:
    assert [one.name for one in hearing.demonstrations] == [truth.name for truth in whole_lesson.played]
    assert [one.complete for one in hearing.demonstrations] == [True, True, False, True, True, True]
    assert max(off_s(hearing, whole_lesson.played)) < 0.02
    assert hearing.length_s == pytest.approx(whole_lesson.now_s, abs=0.01)
    assert [one.bpm for one in hearing.demonstrations] == pytest.approx([60, 120, 70, 70, 130, 90], rel=0.03)


def test_a_card_has_room_only_where_nobody_speaks(whole_lesson: LessonTrack, hearing: TrackHearing) -> None:
    for one in hearing.demonstrations:
        for begin_s, end_s in whole_lesson.spoken:
            assert one.clear_until_s <= begin_s or one.clear_from_s >= end_s


def test_it_does_not_matter_where_blocks_are_cut(whole_lesson: LessonTrack, hearing: TrackHearing) -> None:
    small = heard(whole_lesson, LESSON, block_s=2.3)
    assert isinstance(small, TrackHearing)

    for one, other in zip(small.demonstrations, hearing.demonstrations, strict=True):
        assert (one.name, one.first, len(one.notes)) == (other.name, other.first, len(other.notes))
        assert one.notes[0].onset_s == pytest.approx(other.notes[0].onset_s, abs=0.005)


def test_what_the_lesson_lacks_is_told_as_unlisted(whole_lesson: LessonTrack, hearing: TrackHearing) -> None:
    lacking = found(whole_lesson, {"up": UP, "back": BACK})

    leaps = whole_lesson.played[-1].onsets_s
    assert [(one.start_s < leaps[1], one.end_s > leaps[-2]) for one in lacking.unlisted] == [(True, True)]
    assert not hearing.unlisted


def test_another_line_of_the_same_scale_is_no_part_of_an_exercise() -> None:
    seven = line(
        "6/5 6/7 5/4 5/5 5/7 4/4 4/6 4/7 3/4 3/6 3/7 2/5 2/7 1/4 1/5 1/7 "
        "1/8 1/7 1/5 1/4 2/7 2/5 3/7 3/6 3/4 4/7 4/6 4/4 5/7 5/5 5/4 6/7"
    )
    five = line(
        "1/9 1/7 1/5 2/7 2/5 3/6 3/4 4/7 4/4 5/7 5/4 6/7 6/5 6/7 5/4 5/7 4/4 4/7 3/4 3/6 2/5 2/7 1/5 1/7"
    )
    track = LessonTrack().talk(1.5).pause(0.4).play("leaps", LEAPS, 90.0).talk(1.0).pause(0.4)
    played = track.play("five", five, 90.0).pause(0.5).played[-1].onsets_s

    told = found(track, {"leaps": LEAPS, "seven": seven})

    assert [one.name for one in told.demonstrations] == ["leaps"]
    (row,) = told.unlisted
    assert row.start_s < played[2]
    assert row.end_s > played[-3]


def test_slips_are_heard_as_in_a_take() -> None:
    wrong = line("6/5 6/8 5/5 5/7 4/5 4/9 3/5 3/7")
    hearing = found(LessonTrack().talk(2.0).pause(0.5).play("up", wrong, 80.0).pause(0.5))

    verdicts = [note.verdict for note in hearing.demonstrations[0].notes]
    assert verdicts == [*[Verdict.PLAYED] * 5, Verdict.WRONG, Verdict.PLAYED, Verdict.PLAYED]
    assert hearing.demonstrations[0].notes[5].heard_midi == wrong.notes[5].midi


def test_lines_that_sound_the_same_are_told_apart_by_their_attacks_or_not_at_all() -> None:
    plucked = line("6/5 6/8 5/5 5/7 4/5 4/7 3/5 3/7")
    slurred = line("6/5 6/8h 5/5 5/7h 4/5 4/7h 3/5 3/7h")
    elsewhere = line("6/5 6/8 6/10 6/12 5/10 5/12 4/10 4/12")
    track = LessonTrack().talk(2.0).pause(0.5).play("slurred", slurred, 70.0).pause(0.4)

    told = found(track, {"plucked": plucked, "slurred": slurred}).demonstrations[0]
    assert (told.name, told.also_fits) == ("slurred", ())

    track = LessonTrack().talk(2.0).pause(0.5).play("plucked", plucked, 70.0).pause(0.4)
    told = found(track, {"plucked": plucked, "elsewhere": elsewhere}).demonstrations[0]
    assert (told.name, told.also_fits) == ("plucked", ("elsewhere",))


def test_talk_and_silence_are_no_lesson() -> None:
    talk = heard(LessonTrack().talk(20.0), LESSON)
    nothing = hear_sound(lambda: iter([np.zeros(RATE_HZ, np.float32)]), [Line("up", timeline(UP))])

    assert isinstance(talk, Refusal)
    assert "None of the lesson's exercises" in talk.reason
    assert isinstance(nothing, Refusal)
    assert "silent" in nothing.reason


def test_stretches_are_chosen_for_their_worth_together() -> None:
    def stretch(start_s: float, end_s: float, score: float) -> Found:
        return Found(0, ((0, start_s), (1, end_s)), score, 2)

    long, first, second = stretch(0, 10, 50), stretch(0, 4, 30), stretch(5, 9, 30)

    assert best_together([long, first, second]) == (first, second)
    assert best_together([long, first]) == (long,)
    assert best_together([]) == ()


def test_a_chord_is_one_event() -> None:
    events = events_of(timeline(line("6/5+5/7+4/7 3/5 6/5+5/7")))

    assert events.members == ((0, 1, 2), (3,), (4, 5))
    assert not events.is_single


def test_the_sound_of_a_file_starts_with_the_file(tmp_path: Path) -> None:
    tone = np.sin(np.arange(TRACK_RATE_HZ) * 2 * np.pi * 440 / TRACK_RATE_HZ).astype(np.float32)
    late = record(tmp_path / "late.mp4", tone, Camera(sound_late_s=0.75), length_s=2.0)

    with sound_of(late, block_s=0.3) as blocks:
        samples = np.concatenate(list(blocks))

    first = np.flatnonzero(np.abs(samples) > 0.1)[0] / RATE_HZ
    assert first == pytest.approx(0.75, abs=0.03)


@pytest.mark.parametrize(
    ("content", "said"), [(b"no recording at all", "cannot be read"), (b"", "cannot be read")]
)
def test_a_broken_file_is_refused(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "lesson.mp4"
    path.write_bytes(content)

    refused = hear_track(path, [Line("up", timeline(UP))])

    assert isinstance(refused, Refusal)
    assert said in refused.reason
    with pytest.raises(UnheardError), sound_of(path) as blocks:
        list(blocks)


def test_a_file_without_sound_is_refused(tmp_path: Path) -> None:
    path = record(tmp_path / "mute.mp4", np.zeros(0, np.float32), Camera(sound=None), length_s=1.0)

    refused = hear_track(path, [Line("up", timeline(UP))])

    assert isinstance(refused, Refusal)
    assert "no sound" in refused.reason


def test_chords_are_found_and_timed_but_not_judged() -> None:
    chords = line(
        "5/3+4/2+3/0 5/5+4/4+3/2 6/3+5/2+4/0 5/3+4/2+3/0 4/0+3/2+2/3 6/3+5/2+4/0 5/2+4/2+3/4 5/3+4/2+3/0"
    )
    track = LessonTrack().talk(2.0).pause(0.5).play("chords", chords, 60.0).pause(0.3).talk(1.0)

    hearing = found(track, {"chords": chords, "up": UP})

    (one,) = hearing.demonstrations
    assert (one.name, one.judged, one.complete) == ("chords", False, True)
    assert {note.verdict for note in one.notes} == {Verdict.UNSURE}
    heard_s = np.array([note.onset_s for note in one.notes], dtype=float)
    off_s = np.abs(heard_s - np.array(track.played[0].onsets_s))
    # the middle of each chord's three notes is what a film shows
    assert np.nanmedian(off_s) < 0.02
    assert np.isnan(heard_s).sum() <= 3
