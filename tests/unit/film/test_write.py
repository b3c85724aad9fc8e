"""Films read back: what was written is decoded again and measured."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt
import pytest
from av.subtitles.subtitle import AssSubtitle

from fretwright.base.errors import RenderError, UsageError
from fretwright.engrave.diagram import fretboard_diagram
from fretwright.engrave.walkthrough import walk_through
from fretwright.film.captions import captions
from fretwright.film.clock import clock_of
from fretwright.film.encode import COMPLETE, kind_of
from fretwright.film.layout import screen_of
from fretwright.film.raster import PAPER, rgb
from fretwright.film.scene import Scene, Words, pad_px, scene_of
from fretwright.film.size import FilmSize
from fretwright.film.write import Film, Progress, write_film, write_still
from fretwright.sound.render import Sound, SoundOptions, render
from scores import line

FPS = 25
SCORE = line("6/5 6/8h 5/5 5/7 4/5 4/7 3/5 3/7 3/7 3/5 4/7 4/5 5/7 5/5 6/8 6/5")
BPM = 150.0
TITLE_S = 0.4


def scene(*, overlay: bool, pixels: tuple[int, int] = (320, 180), reduced_motion: bool = False) -> Scene:
    clock = clock_of(SCORE, BPM)
    return scene_of(
        SCORE,
        clock if overlay else clock.later(TITLE_S),
        screen_of(FilmSize(*pixels, FPS), overlay=overlay, fretboard=not overlay),
        Words("Stairs", "Up", "A lighthouse", "150 beats a minute"),
        None if overlay else fretboard_diagram(SCORE),
        reduced_motion=reduced_motion,
    )


def overlay_film(suffix: str, **options: Any) -> Film:  # noqa: ANN401 - those of scene()
    shown = scene(overlay=True, **options)
    return Film(
        shown,
        kind_of(suffix, overlay=True),
        None,
        captions(SCORE, walk_through(SCORE).sentences, shown.clock),
    )


@dataclass(frozen=True)
class Made:
    """A film on disk and what it was made from."""

    path: Path
    film: Film
    sound: Sound


@pytest.fixture(scope="module")
def complete(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A short complete film."""
    path = tmp_path_factory.mktemp("film") / "stairs.mp4"
    shown = scene(overlay=False)
    sound = render(SCORE, BPM, options=SoundOptions(count_in=True))
    film = Film(shown, COMPLETE, sound.samples, captions(SCORE, walk_through(SCORE).sentences, shown.clock))
    write_film(film, path)
    return Made(path, film, sound)


def pictures(path: Path, pixels: str) -> Iterator[tuple[float, npt.NDArray[np.uint8]]]:
    """Time and pixels of every picture. VP9's alpha is only seen by libvpx."""
    with av.open(str(path)) as file:
        stream = file.streams.video[0]
        decoder = av.CodecContext.create("libvpx-vp9", "r") if stream.name == "vp9" else stream.codec_context
        for packet in file.demux(stream):
            for frame in decoder.decode(packet):
                assert isinstance(frame, av.VideoFrame)
                assert frame.pts is not None
                assert stream.time_base is not None
                yield float(frame.pts * stream.time_base), frame.to_ndarray(format=pixels).astype(np.uint8)


def playhead_px(shown: Scene, picture: npt.NDArray[Any], slot: int, noise: float = 0.0) -> float:
    """Centre of gravity of what is darker than paper in the rows under a line of music."""
    rect, pad = shown.slots[slot], pad_px(shown.screen)
    rows = picture[rect.bottom - pad : rect.bottom, rect.x : rect.right].astype(float)
    ink = np.clip(rows.max() - rows.mean(axis=0), 0, None)
    ink[ink < noise * ink.max()] = 0
    return float(rect.x + (ink @ (np.arange(len(ink)) + 0.5)) / ink.sum())


# -- in time -----------------------------------------------------------------------------------------------


def test_in_every_decoded_picture_the_playhead_is_where_the_time_map_has_it(tmp_path: Path) -> None:
    film = overlay_film(".mov")
    write_film(film, tmp_path / "a.mov")

    errors = []
    for time_s, picture in pictures(tmp_path / "a.mov", "rgba"):
        moment = film.scene.at(time_s)
        slot = film.scene.slots[moment.playing]
        expected = slot.x + film.scene.strip.x_px(film.scene.path.at(time_s).x_mm)
        if expected < slot.right - 1:  # at the end of its line it stands half beyond it
            errors.append(playhead_px(film.scene, picture[..., 1], moment.playing) - expected)

    assert len(errors) > 0.7 * film.scene.frame_count
    # Eight bits of colour leave a few thousandths of a pixel.
    assert np.abs(errors).max() < 0.01


def test_the_playhead_of_the_compressed_film_is_there_too(complete: Made) -> None:
    shown = complete.film.scene
    errors = []
    for time_s, picture in pictures(complete.path, "gray"):
        moment = shown.at(time_s)
        if not moment.is_title and time_s < shown.clock.music_ends_s - 0.1:
            slot = shown.slots[moment.playing]
            expected = slot.x + shown.strip.x_px(shown.path.at(time_s).x_mm)
            errors.append(playhead_px(shown, picture, moment.playing, noise=0.12) - expected)

    assert len(errors) > 60
    assert np.abs(errors).max() < 0.35
    assert np.sqrt(np.mean(np.square(errors))) < 0.1


def test_the_decoded_sound_is_where_the_clock_has_it(complete: Made) -> None:
    with av.open(str(complete.path)) as file:
        frames = list(file.decode(audio=0))
    first_s = frames[0].time
    assert first_s is not None
    decoded = np.concatenate([frame.to_ndarray() for frame in frames], axis=1).mean(axis=0)
    sound = complete.sound.samples.mean(axis=1)
    begins = round((TITLE_S - first_s) * 48_000)

    # The lag at which the decoded sound is most like the one that was rendered, early and late in the film.
    for start in (0, len(sound) - 48_000):
        piece = sound[start : start + 24_000]
        lags = range(-600, 601, 1)
        at = begins + start
        likeness = [
            float(decoded[at + lag : at + lag + len(piece)][::3] @ piece[: len(decoded) - at - lag][::3])
            for lag in lags
        ]
        assert abs(lags[int(np.argmax(likeness))]) <= 48  # a millisecond


def test_the_picture_changes_with_the_onset(complete: Made) -> None:
    shown = complete.film.scene
    onset_s = shown.clock.notes[0].onset_s
    neck = shown.screen.neck
    assert neck is not None

    ringed = [
        time_s
        for time_s, picture in pictures(complete.path, "rgb24")
        if (picture[neck.y : neck.bottom, neck.x : neck.right].astype(int) @ (1, -1, 0)).max() > 20
    ]

    # In the first picture at or after the onset, and in none before.
    assert 0 <= ringed[0] - onset_s < 1 / FPS + 1e-6


def test_with_reduced_motion_the_playhead_steps(tmp_path: Path) -> None:
    film = overlay_film(".mov", reduced_motion=True)
    write_film(film, tmp_path / "a.mov")

    places = [
        round(playhead_px(film.scene, picture[..., 1], film.scene.at(time_s).playing), 1)
        for time_s, picture in pictures(tmp_path / "a.mov", "rgba")
    ]
    assert len(set(places)) <= len(film.scene.path.legs)


# -- what is in the file -----------------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", [".mov", ".webm"])
def test_an_overlay_is_paper_on_nothing(tmp_path: Path, suffix: str) -> None:
    film = overlay_film(suffix)
    path = tmp_path / f"a{suffix}"
    write_film(film, path)

    shown = list(pictures(path, "rgba"))
    assert len(shown) == film.scene.frame_count
    card = film.scene.screen.card
    assert card is not None
    for _, picture in shown[:: len(shown) // 4]:
        assert picture[: card.y - 2, :, 3].max() <= 2
        inner = picture[card.y + 6 : card.bottom - 6, card.x + 6 : card.right - 6, 3]
        assert inner.min() >= 253
        corner = picture[card.bottom - 8, card.x + 8, :3].astype(int)
        assert np.abs(corner - rgb(PAPER)).max() <= 6


def test_prores_keeps_the_alpha(tmp_path: Path) -> None:
    shown = scene(overlay=True)
    film = Film(shown, kind_of(".mov", overlay=True, prores=True), None, ())
    write_film(film, tmp_path / "a.mov")

    with av.open(str(tmp_path / "a.mov")) as file:
        assert file.streams.video[0].name == "prores"
        picture = next(file.decode(video=0)).to_ndarray(format="rgba")
    assert picture[2, 2, 3] <= 2
    assert picture[shown.slots[0].y, shown.slots[0].x, 3] >= 253


def test_a_complete_film_has_picture_sound_chapters_and_subtitles(complete: Made) -> None:
    shown = complete.film.scene
    with av.open(str(complete.path)) as file:
        video, audio, words = file.streams.video[0], file.streams.audio[0], file.streams.subtitles[0]
        marks = file.chapters()
        packets = [(packet.pts, packet.decode()) for packet in file.demux(words) if packet.size]

    assert (video.name, audio.name, words.name) == ("h264", "aac", "mov_text")
    assert (video.width, video.height, float(video.average_rate or 0)) == (320, 180, FPS)
    assert video.frames == shown.frame_count
    assert video.codec_context.color_range == 1  # limited, as players expect of BT.709
    assert words.metadata["language"] == "eng"
    assert [mark["metadata"]["title"] for mark in marks][:2] == ["Stairs", "Count-in"]
    told = [
        (pts / 1000, rect.dialogue.decode())
        for pts, rects in packets
        for rect in rects
        if isinstance(rect, AssSubtitle) and pts is not None
    ]
    assert [text.replace("\\N", "\n") for _, text in told] == [cue.text for cue in complete.film.cues]
    assert [time_s for time_s, _ in told] == pytest.approx(
        [cue.start_s for cue in complete.film.cues], abs=0.001
    )


def test_the_captions_lie_beside_the_film(complete: Made) -> None:
    text = complete.path.with_suffix(".vtt").read_text(encoding="utf-8")

    assert text.startswith("WEBVTT\n")
    assert text.count("-->") == len(complete.film.cues)


@pytest.mark.parametrize("suffix", [".mov", ".webm", ".mp4"])
def test_the_same_film_is_the_same_bytes(tmp_path: Path, suffix: str, complete: Made) -> None:
    film = complete.film if suffix == ".mp4" else overlay_film(suffix)
    paths = [tmp_path / f"{name}{suffix}" for name in "ab"]
    for path in paths:
        write_film(film, path)

    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_a_still_is_the_first_note(tmp_path: Path) -> None:
    shown = scene(overlay=True)
    write_still(shown, tmp_path / "a.png")

    with av.open(str(tmp_path / "a.png")) as file:
        picture = next(file.decode(video=0)).to_ndarray(format="rgba")
    onset = shown.slots[0].x + shown.strip.x_px(shown.path.at(shown.clock.notes[0].onset_s).x_mm)
    assert picture.shape == (180, 320, 4)
    assert playhead_px(shown, picture[..., 1], 0) == pytest.approx(onset, abs=0.02)


# -- what goes wrong ---------------------------------------------------------------------------------------


class _StopError(Exception):
    pass


@pytest.mark.parametrize("stop", [_StopError, KeyboardInterrupt])
def test_a_film_that_is_stopped_leaves_no_file(tmp_path: Path, stop: type[BaseException]) -> None:
    def give_up(done: int, total: int) -> None:
        assert 0 < done <= total
        if done == 5:
            raise stop

    with pytest.raises(stop):
        write_film(overlay_film(".mov"), tmp_path / "a.mov", give_up)

    assert list(tmp_path.iterdir()) == []


def test_a_film_that_is_stopped_leaves_the_one_before_it(tmp_path: Path) -> None:
    def give_up(_done: int, _total: int) -> None:
        raise _StopError

    (tmp_path / "a.mov").write_bytes(b"the one before")
    with pytest.raises(_StopError):
        write_film(overlay_film(".mov"), tmp_path / "a.mov", give_up)

    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a.mov": b"the one before"}


def test_progress_is_told_of_every_picture(tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    progress: Progress = lambda done, total: told.append((done, total))  # noqa: E731 - named for its type
    film = overlay_film(".mov")
    write_film(film, tmp_path / "a.mov", progress)

    count = film.scene.frame_count
    assert told == [(done, count) for done in range(1, count + 1)]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="only Linux has a disk that is always full")
@pytest.mark.parametrize("suffix", [".mov", ".webm", ".mp4"])
def test_a_full_disk_is_a_clear_refusal(
    tmp_path: Path, suffix: str, complete: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    film = complete.film if suffix == ".mp4" else overlay_film(suffix)

    def on_the_full_disk(**_: object) -> tuple[int, str]:
        part = tmp_path / f"{len(list(tmp_path.iterdir()))}.part"
        part.symlink_to("/dev/full")
        return os.open(os.devnull, os.O_RDONLY), str(part)

    monkeypatch.setattr("fretwright.film.write.tempfile.mkstemp", on_the_full_disk)
    with pytest.raises(RenderError) as refused:
        write_film(film, tmp_path / f"a{suffix}")

    assert "full" in refused.value.mend
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_a_clear_refusal(tmp_path: Path) -> None:
    with pytest.raises(RenderError, match="nowhere"):
        write_film(overlay_film(".mov"), tmp_path / "nowhere" / "a.mov")


@pytest.mark.parametrize(
    ("suffix", "overlay", "prores"),
    [
        (".avi", False, False),
        (".webm", False, False),
        (".mp4", True, False),
        ("", False, False),
        (".mp4", False, True),
        (".webm", True, True),
    ],
)
def test_a_suffix_of_no_film_is_refused(suffix: str, overlay: bool, prores: bool) -> None:
    with pytest.raises(UsageError) as refused:
        kind_of(suffix, overlay=overlay, prores=prores)
    assert refused.value.mend


def test_a_still_is_a_png(tmp_path: Path) -> None:
    with pytest.raises(UsageError):
        write_still(scene(overlay=True), tmp_path / "a.jpg")
