"""The described film over a recording: it stands still for the voice, and nothing else changes."""

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest

from fretwright.film.captions import Cue
from fretwright.film.chapters import Chapter
from fretwright.film.encode import BURNED
from fretwright.film.footage import probe
from fretwright.film.over_write import OverFilm, write_over
from fretwright.film.pauses import Pauses, pause_for
from fretwright.film.size import FilmSize
from fretwright.sound.arrays import Samples
from recordings import RATE_HZ, Camera, record, silence

VOICE = np.full(round(0.9 * RATE_HZ), 0.25, np.float32)
CLICKS_S = (0.5, 1.9, 3.1, 3.8)


def pieces(length: int, size: int = 1000) -> list[tuple[int, Samples]]:
    ramp = np.repeat(np.arange(1, length + 1, dtype=np.float32)[:, None], 2, axis=1)
    return [(at, ramp[at : at + size]) for at in range(0, length, size)]


@pytest.mark.parametrize("rate", [Fraction(25), Fraction(30_000, 1001)])
def test_every_sample_is_there_once_and_moved_by_whole_pictures(rate: Fraction) -> None:
    pauses = Pauses(rate, (pause_for(0.5, VOICE, rate), pause_for(1.0, VOICE, rate)))

    heard = list(pauses.sound(iter(pieces(2 * RATE_HZ))))

    for (start, samples), (later, _) in pairwise(heard):
        assert start + len(samples) == later
    whole = np.concatenate([samples[:, 0] for _, samples in heard])
    assert len(whole) == 2 * RATE_HZ + round(pauses.pictures / rate * RATE_HZ)
    last = 2 * RATE_HZ - 1
    assert whole[-1] == last + 1
    # a picture and the sound that was recorded with it are moved by the same time
    assert pauses.cues([Cue(1.9, 2.0, "a")])[0].start_s - 1.9 == pytest.approx(
        (len(whole) - last - 1) / RATE_HZ, abs=1 / RATE_HZ
    )
    assert np.count_nonzero(whole == np.float32(0.25)) == 2 * len(VOICE)


def test_a_pause_after_the_end_of_the_sound_is_told_all_the_same() -> None:
    pauses = Pauses(Fraction(25), (pause_for(1.5, VOICE, Fraction(25)),))

    heard = list(pauses.sound(iter(pieces(RATE_HZ))))

    assert heard[-1][0] > RATE_HZ
    assert sum(np.count_nonzero(samples[:, 0] == np.float32(0.25)) for _, samples in heard) == len(VOICE)


def test_what_stands_before_a_pause_stays_and_what_comes_after_it_moves() -> None:
    pauses = Pauses(Fraction(25), (pause_for(1.0, VOICE, Fraction(25)),))
    longer_s = pauses.pictures / 25

    chapters = pauses.chapters([Chapter(0, 0.9, "a"), Chapter(0.9, 3, "b"), Chapter(3, 4, "c")])

    assert longer_s > len(VOICE) / RATE_HZ
    assert [(one.start_s, one.end_s) for one in chapters] == [
        (0, 0.9),
        (0.9, pytest.approx(3 + longer_s)),
        (pytest.approx(3 + longer_s), pytest.approx(4 + longer_s)),
    ]


def test_picture_and_sound_keep_together_through_a_pause(tmp_path: Path) -> None:
    samples = silence(4.0)
    for at in CLICKS_S:
        samples[round(at * RATE_HZ) : round(at * RATE_HZ) + 200] = 0.8
    footage = probe(record(tmp_path / "take.mp4", samples, Camera(rate=25)))
    pauses = Pauses(footage.rate, (pause_for(1.5, VOICE, footage.rate),))
    told = (Cue(1.5, 3.0, "Up. From the sixth string to the first."),)
    film = OverFilm(footage, BURNED, FilmSize(640, 360, 30), (), (), (), "Up", told, pauses)

    made = write_over(film, tmp_path / "a.mp4")

    assert [path.name for path in made] == ["a.mp4", "a.described.mp4", "a.vtt", "a.descriptions.vtt"]
    assert "sixth string" in made[-1].read_text(encoding="utf-8")
    plain, described = pictures_and_clicks(made[0]), pictures_and_clicks(made[1])
    stands = round(1.5 * 25)
    longer = pauses.pictures
    assert len(described[0]) == len(plain[0]) + longer
    # the recording's pictures grow brighter with time: each is known by it
    moved = described[0][: stands + 1] + described[0][stands + 1 + longer :]
    assert moved == pytest.approx(plain[0], abs=4)
    assert described[0][stands : stands + longer] == pytest.approx([plain[0][stands]] * longer, abs=4)
    shifts = [0.0, longer / 25, longer / 25, longer / 25]
    assert described[1] == pytest.approx(
        [at + by for at, by in zip(CLICKS_S, shifts, strict=True)], abs=0.005
    )


def pictures_and_clicks(path: Path) -> tuple[list[float], list[float]]:
    """The brightness at the right edge of each picture, and when each click begins."""
    clicks = [-1.0]
    with av.open(str(path)) as file:
        bright = [float(frame.to_ndarray(format="gray")[:, -40:].mean()) for frame in file.decode(video=0)]
    with av.open(str(path)) as file:
        for heard in file.decode(audio=0):
            loud = np.flatnonzero(np.abs(heard.to_ndarray()[0]) > 0.4)[:1]
            at_s = float(heard.time or 0) + (int(loud[0]) / RATE_HZ if len(loud) else 0.0)
            if len(loud) and at_s > clicks[-1] + 0.1:
                clicks.append(at_s)
    return bright, clicks[1:]
