"""The overlay over a recording: what will not do, and what is told of slips."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile
import soxr

from filmed_lesson import LESSON, track_of, write_lesson
from fretwright.base.errors import UsageError
from fretwright.check.check import Checked
from fretwright.ear.take import Refusal
from fretwright.ear.track_rehear import Demonstration
from fretwright.ear.track_unlisted import Unlisted
from fretwright.ear.verdicts import HeardAttack, HeardExtra, HeardNote, Verdict
from fretwright.film.footage import probe
from fretwright.film.size import FilmSize
from fretwright.flows import film_over as flow
from fretwright.flows.film_cues import slip_report, stamp
from fretwright.flows.film_over import OverOrder, OverReport, film_over
from fretwright.flows.film_slips import Shown, SlipKind, slips_of
from fretwright.flows.reading import check_course
from fretwright.score.playing import Playing
from fretwright.sound.arrays import Samples
from lesson_tracks import LessonTrack
from recordings import RATE_HZ, Camera, record, silence

SMALL = FilmSize(640, 360, 30)


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_lesson(tmp_path_factory.mktemp("course"))


@pytest.fixture(scope="module")
def checked(course: Path) -> Checked:
    return check_course(course)


@pytest.fixture(scope="module")
def track(course: Path) -> LessonTrack:
    return track_of(course)


def shown(checked: Checked, name: str, *changes: tuple[int, HeardNote]) -> Shown:
    """A demonstration as written, one note a second from 10 s on, but for some notes."""
    exercise = checked.course.exercise(f"{LESSON}/{name}")
    score = checked.score_of(exercise)
    notes = [
        HeardNote(note.id, Verdict.PLAYED, 1.0, onset_s=10.0 + place, attack=HeardAttack.PLUCK)
        for place, note in enumerate(score.notes)
    ]
    for place, note in changes:
        notes[place] = replace(note, id=notes[place].id)
    heard = Demonstration(exercise.name, 0, tuple(notes), (), 60.0, True, 9.0, 30.0, True)
    return Shown(exercise, score, heard, Playing(0, tuple(note.onset_s for note in notes), 9.0, 30.0))


def test_a_lesson_as_written_has_no_slips(checked: Checked) -> None:
    both = [shown(checked, "climb"), shown(checked, "leaps")]

    assert slips_of(both, (), [each.exercise for each in both]) == ()
    assert slip_report("a.mp4", both, ()).count("as written") == 2


def test_every_kind_of_slip_is_told_in_its_place(checked: Checked) -> None:
    climb = checked.course.exercise(f"{LESSON}/climb")
    leaps = checked.course.exercise(f"{LESSON}/leaps")
    one = shown(
        checked,
        "climb",
        (1, HeardNote("", Verdict.WRONG, 0.9, onset_s=11.0, heard_midi=58)),
        (2, HeardNote("", Verdict.MISSED, 0.9)),
    )
    one = replace(one, heard=replace(one.heard, extras=(HeardExtra(13.5, 64),)))

    slips = slips_of([one], (Unlisted(40.0, 44.0, (60, 62, 64)),), [climb, leaps])

    assert [(slip.kind, slip.start_s) for slip in slips] == [
        (SlipKind.WRONG, 11.0),
        (SlipKind.MISSED, pytest.approx(12.0)),
        (SlipKind.EXTRA, 13.5),
        (SlipKind.UNLISTED, 40.0),
        (SlipKind.NOT_PLAYED, None),
    ]
    written = one.score.notes[1]
    assert f"string {written.string}, fret {written.fret}" in slips[0].message
    assert slips[0].note == written.id
    assert "C4 D4 E4" in slips[3].message
    assert slips[4].exercise == leaps.name
    report = slip_report("a.mp4", [one], slips)
    assert all(slip.message in report for slip in slips)
    assert "as written" not in report


def test_what_is_broken_off_says_where(checked: Checked) -> None:
    whole = shown(checked, "climb")
    part = replace(
        whole,
        heard=replace(whole.heard, notes=whole.heard.notes[:4], complete=False),
        playing=Playing(0, whole.playing.onsets_s[:4], 9.0, 14.0),
    )

    slips = slips_of([part], (), [part.exercise])

    assert [(slip.kind, slip.start_s) for slip in slips] == [(SlipKind.BROKEN_OFF, 13.0)]


def test_chords_are_placed_and_not_judged(checked: Checked) -> None:
    one = shown(checked, "climb", (1, HeardNote("", Verdict.UNSURE, 0.0, onset_s=11.0)))
    one = replace(one, heard=replace(one.heard, judged=False))

    assert slips_of([one], (), [one.exercise]) == ()
    assert "not judged" in slip_report("a.mp4", [one], ())


@pytest.mark.parametrize(
    ("time_s", "told"), [(0.0, "00:00.0"), (62.34, "01:02.3"), (3599.96, "1:00:00.0"), (7384.5, "2:03:04.5")]
)
def test_times_are_told_as_players_show_them(time_s: float, told: str) -> None:
    assert stamp(time_s) == told


def test_sound_alone_can_have_an_overlay_but_nothing_burned_in(
    checked: Checked, track: LessonTrack, tmp_path: Path
) -> None:
    voice = tmp_path / "voice.flac"
    soundfile.write(voice, track.samples, RATE_HZ)

    with pytest.raises(UsageError, match="--overlay"):
        film_over(OverOrder(LESSON, voice, tmp_path / "film.mp4"), checked)
    made = film_over(OverOrder(LESSON, voice, tmp_path / "film.mov", SMALL, overlay=True), checked)

    assert isinstance(made, OverReport)
    assert [each.exercise.id for each in made.shown] == ["climb", "leaps"]
    sheet = json.loads((tmp_path / "film.json").read_text(encoding="utf-8"))
    assert sheet["length_s"] == pytest.approx(track.now_s, abs=0.01)


def test_a_described_film_waits_while_each_exercise_is_told(
    checked: Checked, track: LessonTrack, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []

    def say(words: str, words_a_minute: int) -> Samples:
        said.append(words)
        return np.full(round(len(words.split()) * 60 / words_a_minute * RATE_HZ), 0.3, np.float32)

    monkeypatch.setattr(flow, "voice", lambda: "espeak-ng")
    monkeypatch.setattr(flow, "say", say)
    recording = record(tmp_path / "lesson.mp4", track.samples)

    made = film_over(OverOrder(LESSON, recording, tmp_path / "film.mp4", described=True), checked)

    assert isinstance(made, OverReport)
    names = ["film.mp4", "film.described.mp4", "film.vtt", "film.descriptions.vtt", "film.json", "film.txt"]
    assert [path.name for path in made.files] == names
    assert [words.split(".")[0] for words in said] == ["Climb", "Leaps"]
    told = (tmp_path / "film.descriptions.vtt").read_text(encoding="utf-8")
    assert "at 80 beats a minute" in told
    lengths = [probe(tmp_path / name).length_s for name in names[:2]]
    spoken_s = sum(len(words.split()) for words in said) * 60 / 175
    # the voice, and a breath on either side of it
    assert lengths[1] - lengths[0] == pytest.approx(spoken_s + 4 * 0.4, abs=0.1)


def test_sound_of_8_khz_is_enough_and_an_overlay_is_described_as_text_alone(
    checked: Checked, track: LessonTrack, tmp_path: Path
) -> None:
    poor = tmp_path / "voice.wav"
    soundfile.write(poor, soxr.resample(track.samples, RATE_HZ, 8_000), 8_000)

    made = film_over(
        OverOrder(LESSON, poor, tmp_path / "film.webm", SMALL, overlay=True, described=True), checked
    )

    assert isinstance(made, OverReport)
    assert [path.name for path in made.files][:3] == ["film.webm", "film.vtt", "film.descriptions.vtt"]
    for one, truth in zip(made.shown, track.played, strict=True):
        heard = [note.onset_s for note in one.heard.notes]
        assert heard == pytest.approx(truth.onsets_s, abs=0.02)


def test_what_is_not_the_lesson_is_refused_and_nothing_written(checked: Checked, tmp_path: Path) -> None:
    talk = record(tmp_path / "talk.mp4", LessonTrack().talk(5.0).samples)

    refused = film_over(OverOrder(LESSON, talk, tmp_path / "film.mp4"), checked)

    assert isinstance(refused, Refusal)
    assert [path.name for path in tmp_path.iterdir()] == ["talk.mp4"]


def test_what_cannot_be_filmed_over_is_wrong_use(
    checked: Checked, track: LessonTrack, tmp_path: Path
) -> None:
    copy = record(tmp_path / "lesson.mp4", track.samples)
    mute = record(tmp_path / "mute.mp4", silence(0.0), Camera(sound=None), length_s=1.0)
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(copy.read_bytes()[:20_000])
    linked = tmp_path / "linked.mp4"
    linked.symlink_to(copy)
    named_like_a_sheet = tmp_path / "film.json"
    named_like_a_sheet.write_bytes(copy.read_bytes())
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    out = tmp_path / "film.mp4"
    sized = OverOrder(LESSON, copy, tmp_path / "b.mp4", SMALL)

    for order, said in (
        (OverOrder(LESSON, mute, out), "no sound"),
        (OverOrder(LESSON, broken, out), "broken"),
        (OverOrder(LESSON, tmp_path / "none.mp4", out), "no file"),
        (OverOrder(LESSON, tmp_path, out), "no file"),
        (OverOrder(LESSON, copy, copy), "never written to"),
        (OverOrder(LESSON, copy, linked), "never written to"),
        (OverOrder(LESSON, named_like_a_sheet, out), "never written to"),
        (sized, "--overlay"),
        (OverOrder(LESSON, copy, tmp_path / "film.avi"), ".mp4"),
        (OverOrder("99-none", copy, out), LESSON),
    ):
        with pytest.raises(UsageError) as refused:
            film_over(order, checked)
        assert said in str(refused.value)
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before
