"""The audio description: what is said when, and what becomes of the film's own sound."""

from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest

from fretwright.base.errors import RenderError
from fretwright.engrave.walkthrough import walk_through
from fretwright.film import describe, speech
from fretwright.film.captions import Cue, captions, descriptions
from fretwright.film.clock import clock_of
from fretwright.film.describe import spoken_over
from fretwright.film.encode import COMPLETE
from fretwright.film.layout import screen_of
from fretwright.film.scene import Words, scene_of
from fretwright.film.size import FilmSize
from fretwright.film.write import Film, write_film
from fretwright.sound.arrays import Samples
from scores import line

RATE = 48_000
SCORE = line("6/5 6/8h 5/5 5/7 4/5 4/7 3/5 3/7")
LENGTH_S = 6.0


def tone(length_s: float) -> Samples:
    wave = 0.2 * np.sin(np.arange(round(length_s * RATE)) * 2 * np.pi * 220 / RATE)
    return np.repeat(wave[:, None], 2, axis=1).astype(np.float32)


@pytest.fixture
def voice(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, int]]:
    """A voice that takes a second for five words at 300 a minute; remembers what it was asked."""
    asked: list[tuple[str, int]] = []

    def say(words: str, words_a_minute: int) -> Samples:
        asked.append((words, words_a_minute))
        return np.full(round(len(words.split()) * 60 / words_a_minute * RATE), 0.3, np.float32)

    monkeypatch.setattr(describe, "say", say)
    return asked


def level(track: Samples, from_s: float, until_s: float) -> float:
    """Of the tone alone: what differs within a period of it."""
    piece = track[round(from_s * RATE) : round(until_s * RATE), 0]
    return float(piece.std())


def test_the_voice_speaks_when_it_is_due_and_the_music_steps_back(voice: list[tuple[str, int]]) -> None:
    track = spoken_over(tone(5.0), 1.0, [Cue(2.0, 4.0, "one two three")], LENGTH_S)

    assert track.shape == (round(LENGTH_S * RATE), 2)
    assert (track[: RATE - 1] == 0).all()
    assert level(track, 1.2, 1.8) == pytest.approx(0.2 / np.sqrt(2), rel=0.02)
    assert level(track, 2.3, 2.8) == pytest.approx(0.2 / np.sqrt(2) / 4, rel=0.05)
    assert track[round(2.5 * RATE)].mean() == pytest.approx(0.3, abs=0.06)
    assert level(track, 4.0, 5.0) == pytest.approx(0.2 / np.sqrt(2), rel=0.02)
    assert voice == [("one two three", 175)]


def test_where_time_is_short_it_speaks_faster_and_leaves_out_what_comes_too_late(
    voice: list[tuple[str, int]],
) -> None:
    ten = " ".join(["word"] * 10)
    told = [Cue(at, at + 0.5, f"{ten} {at}") for at in (0.0, 0.5, 1.0)]

    spoken_over(tone(1.0), 0.0, told, 12.0)

    said = {words.split()[-1]: pace for words, pace in voice}
    assert said == {"0.0": 320, "1.0": 175}


@pytest.mark.usefixtures("voice")
def test_nothing_is_said_beyond_the_end() -> None:
    track = spoken_over(tone(1.0), 0.0, [Cue(0.8, 1.0, "far too many words for it")], 1.0)

    assert track[-1].mean() < 0.2


def test_every_sentence_is_told_whole_and_once() -> None:
    sentences = walk_through(SCORE).sentences
    clock = clock_of(SCORE, 60.0).later(3.0)

    told = descriptions(sentences, clock)

    assert " ".join(cue.text for cue in told) == " ".join(sentence.text for sentence in sentences)
    assert told[0].start_s == 0.0
    assert all(one.end_s == other.start_s for one, other in pairwise(told))


def test_a_described_film_has_two_sound_tracks_and_a_text(tmp_path: Path) -> None:
    clock = clock_of(SCORE, 240.0).later(0.4)
    scene = scene_of(
        SCORE,
        clock,
        screen_of(FilmSize(320, 180, 25), overlay=False, fretboard=False),
        Words("A", "B", "C", "D"),
    )
    told = descriptions(walk_through(SCORE).sentences, clock)
    length_s = scene.frame_count / 25
    spoken = tone(length_s) * 0.5
    film = Film(
        scene, COMPLETE, tone(length_s), captions(SCORE, walk_through(SCORE).sentences, clock), told, spoken
    )

    made = write_film(film, tmp_path / "a.mp4")

    assert [path.name for path in made] == ["a.mp4", "a.vtt", "a.descriptions.vtt"]
    with av.open(str(tmp_path / "a.mp4")) as file:
        first, second = file.streams.audio
        assert second.metadata["language"] == "eng"
        lengths = [sum(frame.samples for frame in file.decode(stream)) for stream in (second,)]
        assert lengths[0] / RATE == pytest.approx(length_s, abs=0.05)
        assert bool(first.disposition & av.stream.Disposition.default)
        assert not second.disposition & av.stream.Disposition.default
    text = (tmp_path / "a.descriptions.vtt").read_text(encoding="utf-8")
    assert told[0].text in text


@pytest.mark.skipif(
    speech.voice() is None, reason="espeak-ng is not installed: the voice itself cannot be heard"
)
def test_the_voice_says_the_same_thing_the_same_way() -> None:
    slow, fast = (speech.say("--help me to fret eight; & <third> finger", pace) for pace in (150, 300))

    assert len(slow) > 1.4 * len(fast) > RATE
    assert np.abs(slow).max() == pytest.approx(speech.PEAK)
    speech.say.cache_clear()
    assert (speech.say("--help me to fret eight; & <third> finger", 150) == slow).all()


def test_without_a_synthesiser_there_is_no_voice(monkeypatch: pytest.MonkeyPatch) -> None:
    speech.say.cache_clear()
    monkeypatch.setattr(speech, "voice", lambda: None)

    with pytest.raises(RenderError, match="Install espeak-ng"):
        speech.say("one", 175)
