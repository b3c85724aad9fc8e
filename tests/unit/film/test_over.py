"""Cards over a recording: when they are there, and what is then on the screen."""

import gc
import weakref
from pathlib import Path

import av
import numpy as np
import pytest

from fretwright.base.errors import RenderError
from fretwright.engrave.walkthrough import walk_through
from fretwright.film.canvas import Plane
from fretwright.film.captions import captions_played
from fretwright.film.chapters import Chapter
from fretwright.film.clock_played import clock_played
from fretwright.film.encode import BURNED, kind_of
from fretwright.film.footage import probe
from fretwright.film.layout import screen_of
from fretwright.film.over import LEAD_S, TRAIL_S, Overlay, Showing, showings
from fretwright.film.over_write import OverFilm, write_over
from fretwright.film.painter import Painter
from fretwright.film.scene import Scene, Words, played_again, scene_of
from fretwright.film.size import FilmSize
from fretwright.score.playing import Playing
from fretwright.score.timeline import timeline
from recordings import RATE_HZ, Camera, record, silence
from scores import line

SCORE = line("6/5 6/8h 5/5 5/7 4/5 4/7 3/5 3/7")
WRITTEN = [timed.onset_s for timed in timeline(SCORE).notes]
SIZE = FilmSize(640, 360, 30)


def played(start_s: float, clear: tuple[float, float] = (-9.0, 9.0)) -> Playing:
    """The score at its own tempo; ``clear`` is how far it is quiet around the first and last onset."""
    onsets = tuple(start_s + written for written in WRITTEN)
    return Playing(0, onsets, onsets[0] + clear[0], onsets[-1] + clear[1])


def scene(playing: Playing, *, title: str = "Stairs", calm: bool = False, size: FilmSize = SIZE) -> Scene:
    return scene_of(
        SCORE,
        clock_played(SCORE, playing),
        screen_of(size, overlay=True, fretboard=False),
        Words(title, "Up", "A lighthouse", "66 beats a minute"),
        reduced_motion=calm,
    )


def cards(*playings: Playing, title: str = "Stairs", calm: bool = False) -> tuple[Showing, ...]:
    return showings([(scene(each, title=title, calm=calm), each) for each in playings])


def grey(level: int) -> tuple[Plane, ...]:
    return (
        np.full((360, 640), level, np.uint8),
        np.full((180, 320), 128, np.uint8),
        np.full((180, 320), 128, np.uint8),
    )


def test_a_card_comes_a_little_early_and_goes_a_little_late() -> None:
    (card,) = cards(played(10.0))

    assert card.from_s == pytest.approx(10.0 - LEAD_S)
    assert card.until_s == pytest.approx(card.scene.clock.music_ends_s + TRAIL_S)


def test_a_card_waits_for_silence() -> None:
    (card,) = cards(played(10.0, clear=(-0.2, 0.3)))

    assert card.from_s == pytest.approx(9.8)
    assert card.until_s == pytest.approx(10.0 + WRITTEN[-1] + 0.3)


def test_no_two_cards_stand_at_once_and_a_quick_repeat_keeps_the_card() -> None:
    length_s = WRITTEN[-1]
    once, again = played(10.0, (-3, 1.2)), played(10.0 + length_s + 1.5, (-1.4, 3))

    first, second = cards(once, again)

    assert first.until_s <= second.from_s
    gap = np.linspace(first.until_s - 0.5, second.from_s + 0.5, 50)
    assert min(max(first.opacity(t), second.opacity(t)) for t in gap) == 1.0


def test_a_card_fades_once_and_with_reduced_motion_not_at_all() -> None:
    times = np.arange(8.0, 16.0, 1 / 60)
    (card,) = cards(played(10.0))
    (calm,) = cards(played(10.0), calm=True)

    values = np.array([card.opacity(t) for t in times])
    rises = np.diff(values)
    assert np.flatnonzero(rises > 0).max() < np.flatnonzero(rises < 0).min()
    assert {calm.opacity(t) for t in times} == {0.0, 1.0}


@pytest.mark.parametrize("level", [16, 90, 235])
def test_a_card_is_as_readable_over_any_picture(level: int) -> None:
    (card,) = cards(played(1.0))
    overlay = Overlay([card], 640, 360, "yuv420p")

    luma = overlay.over(grey(level), 1.5).planes[0]

    rect = card.scene.screen.card
    assert rect is not None
    inside = luma[rect.y + 6 : rect.bottom - 6, rect.x + 6 : rect.right - 6].astype(float)
    outside = luma.copy()
    outside[rect.y : rect.bottom, rect.x : rect.right] = level
    assert (outside == level).all()
    paper, ink = _light(np.quantile(inside, 0.9)), _light(inside.min())
    # WCAG 2.2, 1.4.3: 4.5 : 1 for text, whatever lies behind the card
    assert (paper + 0.05) / (ink + 0.05) > 12
    # and 1.4.11: its edge stands out from light and dark by 3 : 1, as ink or as paper
    edge = _light(float(luma[rect.y + 20 : rect.bottom - 20, rect.x : rect.x + 2].min()))
    behind = _light(float(level))
    contrasts = [(max(one, behind) + 0.05) / (min(one, behind) + 0.05) for one in (edge, paper)]
    assert max(contrasts) > 3


def _light(luma: float) -> float:
    """Relative luminance of a grey of limited range (WCAG 2.2 and ITU-R BT.709)."""
    value = min(1.0, max(0.0, (luma - 16) / 219))
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def test_where_no_card_is_the_picture_is_untouched() -> None:
    overlay = Overlay(cards(played(10.0)), 640, 360, "yuv420p")

    for plane, shown in zip(grey(77), overlay.over(grey(77), 2.0).planes, strict=True):
        assert (plane == shown).all()


def test_the_overlay_alone_is_clear_then_fades_in_to_opaque() -> None:
    (card,) = cards(played(10.0))
    overlay = Overlay([card], 640, 360, "rgba")
    rect = card.scene.screen.card
    assert rect is not None
    middle = (rect.y + rect.height // 2, rect.x + 10)

    alphas = [int(overlay.alone(card.from_s + at).planes[3][middle]) for at in (-0.5, 0.1, 0.5)]

    assert alphas[0] == 0
    assert alphas[1] == pytest.approx(128, abs=2)
    assert alphas[2] == 255


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    samples = silence(6.0)
    for at in (2.0 + written for written in WRITTEN):
        samples[round(at * RATE_HZ) : round(at * RATE_HZ) + 200] = 0.8
    return record(tmp_path_factory.mktemp("footage") / "take.mp4", samples, Camera(rate=30))


def film(recording: Path, suffix: str, *, alone: bool) -> OverFilm:
    shown = cards(played(2.0))
    cues = captions_played(SCORE, walk_through(SCORE).sentences, shown[0].scene.clock)
    kind = kind_of(suffix, overlay=True) if alone else BURNED
    return OverFilm(probe(recording), kind, SIZE, shown, cues, (Chapter(0, 6, "Stairs"),), "Up")


def heads(path: Path, card: Showing) -> list[tuple[float, float]]:
    """Time and place of the playhead's pointer in every picture that has one, as decoded."""
    rect = card.scene.slots[0]
    found = []
    with av.open(str(path)) as file:
        for frame in file.decode(video=0):
            red = frame.to_ndarray(format="rgb24").astype(int)[rect.y : rect.y + 8, rect.x : rect.right]
            weight = np.clip(red[..., 0] - red[..., 1] - 40, 0, None).sum(axis=0)
            if weight.max() > 100:
                found.append(
                    (float(frame.time or 0), float(np.average(np.arange(len(weight)), weights=weight)))
                )
    return found


@pytest.mark.parametrize(("suffix", "alone"), [(".mp4", False), (".mov", True), (".webm", True)])
def test_the_playhead_read_back_is_where_the_playing_is(
    recording: Path, tmp_path: Path, suffix: str, alone: bool
) -> None:
    made = film(recording, suffix, alone=alone)

    path, captions = write_over(made, tmp_path / f"a{suffix}")

    shown = made.cards[0].scene
    seen = heads(path, made.cards[0])
    assert len(seen) > 60
    for time_s, x_px in seen:
        asked = shown.strip.x_px(shown.path.at(time_s).x_mm)
        # the pointer is wider than its line and is cut off by whole pixels at its edges
        assert x_px + 0.5 == pytest.approx(asked, abs=1.5)
    assert captions.read_text(encoding="utf-8").startswith("WEBVTT")


def test_a_burned_in_film_keeps_length_sound_and_chapters(recording: Path, tmp_path: Path) -> None:
    made = film(recording, ".mp4", alone=False)

    write_over(made, tmp_path / "a.mp4")

    again = probe(tmp_path / "a.mp4")
    assert again.length_s == pytest.approx(made.footage.length_s, abs=0.05)
    assert (again.width, again.height, int(again.rate)) == (640, 360, 30)
    with av.open(str(tmp_path / "a.mp4")) as file:
        assert {stream.type for stream in file.streams} >= {"video", "audio", "subtitle"}
        assert [mark["metadata"]["title"] for mark in file.chapters()] == ["Stairs"]
        loud = [
            float(frame.time or 0) + place / RATE_HZ
            for frame in file.decode(audio=0)
            for place in np.flatnonzero(np.abs(frame.to_ndarray()[0]) > 0.4)[:1]
        ]
    for written in WRITTEN:
        assert min(abs(at - 2.0 - written) for at in loud) < 0.005


def test_an_overlay_alone_is_as_long_as_its_recording_and_silent(recording: Path, tmp_path: Path) -> None:
    made = film(recording, ".mov", alone=True)

    write_over(made, tmp_path / "a.mov")

    with av.open(str(tmp_path / "a.mov")) as file:
        assert [stream.type for stream in file.streams] == ["video"]
        assert file.streams.video[0].frames == made.footage.picture_count


def test_a_demonstration_more_costs_its_times_and_no_picture() -> None:
    first = cards(played(2.0))[0].scene

    again = played_again(first, clock_played(SCORE, played(20.0)), first.words)

    assert again.strip is first.strip
    assert again.path.visits[0].start_s == pytest.approx(first.path.visits[0].start_s + 18.0)
    assert again.sounding.times_s[0] == pytest.approx(first.sounding.times_s[0] + 18.0)


def test_a_painter_goes_as_soon_as_nobody_needs_it() -> None:
    painter = Painter(cards(played(2.0))[0].scene, "yuv420p")
    painter.paint(2.5)
    gone = weakref.ref(painter)

    gc.disable()
    try:
        del painter
        # pictures of a whole lesson's cards would pile up if they waited for the collector
        assert gone() is None
    finally:
        gc.enable()


def test_work_that_is_stopped_leaves_nothing(recording: Path, tmp_path: Path) -> None:
    def stop(done: int, _: int) -> None:
        if done == 20:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_over(film(recording, ".mp4", alone=False), tmp_path / "a.mp4", stop)

    assert list(tmp_path.iterdir()) == []


def test_a_recording_that_ends_in_damage_is_refused(recording: Path, tmp_path: Path) -> None:
    damaged = tmp_path / "take.mp4"
    damaged.write_bytes(recording.read_bytes())
    made = film(damaged, ".mp4", alone=False)
    damaged.write_bytes(b"\0" * 2000)

    with pytest.raises(RenderError):
        write_over(made, tmp_path / "a.mp4")

    assert {path.name for path in tmp_path.iterdir()} == {"take.mp4"}
