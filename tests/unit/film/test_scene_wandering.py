"""Scores of every kind, put on a screen: what must hold for all of them."""

from itertools import pairwise

import pytest

from fretwright.engrave.walkthrough import walk_through
from fretwright.film.captions import captions
from fretwright.film.chapters import chapters
from fretwright.film.clock import clock_of
from fretwright.film.layout import screen_of
from fretwright.film.painter import Painter
from fretwright.film.path import column_mm
from fretwright.film.scene import Scene, Words, scene_of
from fretwright.film.size import FilmSize
from plate_scores import wandering

SEEDS = range(12)
SIZES = [(320, 180), (240, 240), (180, 320)]


def scene(seed: int, *, overlay: bool) -> Scene:
    score, _ = wandering(seed)
    screen = screen_of(FilmSize(*SIZES[seed % 3], 25), overlay=overlay, fretboard=False)
    return scene_of(score, clock_of(score), screen, Words(f"Wandering {seed}", "", "", ""))


@pytest.mark.parametrize("overlay", [False, True])
@pytest.mark.parametrize("seed", SEEDS)
def test_every_note_is_met_on_its_column_in_view_and_inside_its_slot(seed: int, overlay: bool) -> None:
    shown = scene(seed, overlay=overlay)

    for note in shown.clock.notes:
        moment = shown.at(note.onset_s)
        assert moment.spot.x_mm == pytest.approx(column_mm(shown.strip.plate, note.note_id), abs=0.01)
        assert moment.slots[moment.playing].line == moment.spot.line
        assert note.note_id in moment.sounding
        for box in shown.strip.plate.boxes[note.note_id]:
            left, top, right, bottom = shown.strip.box_px(box)
            assert -1 <= left < right <= shown.strip.width + 1
            assert -1 <= top < bottom <= shown.strip.height + 1


@pytest.mark.parametrize("seed", SEEDS)
def test_time_leaves_no_gap_and_captions_and_chapters_keep_to_it(seed: int) -> None:
    shown = scene(seed, overlay=False)

    for sooner, later in pairwise(shown.path.legs):
        assert later.start_s == pytest.approx(sooner.end_s, abs=1e-4)
        assert sooner.to_mm >= sooner.from_mm
    cues = captions(shown.score, walk_through(shown.score).sentences, shown.clock)
    assert all(cue.start_s < cue.end_s for cue in cues)
    assert all(sooner.end_s <= later.start_s + 1e-9 for sooner, later in pairwise(cues))
    marks = chapters(shown)
    assert all(mark.start_s < mark.end_s for mark in marks)


@pytest.mark.parametrize("seed", SEEDS)
def test_every_moment_can_be_painted(seed: int) -> None:
    shown = scene(seed, overlay=seed % 2 == 1)
    painter = Painter(shown, "rgba" if seed % 2 else "yuv420p")

    for share in range(0, 101, 20):
        painter.paint(share / 100 * shown.clock.ends_s)
