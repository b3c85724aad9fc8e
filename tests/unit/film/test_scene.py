"""What is in view when, and where it stands on the screen."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from charts import chart
from fretwright.engrave.diagram import fretboard_diagram
from fretwright.engrave.walkthrough import walk_through
from fretwright.film.captions import descriptions
from fretwright.film.chapters import chapters
from fretwright.film.clock import clock_of
from fretwright.film.held import held_in
from fretwright.film.layout import MARGIN, screen_of
from fretwright.film.marks import neck_marks
from fretwright.film.painter import Painter
from fretwright.film.raster import INK, PAPER, RUBRIC, SOFT, rgb
from fretwright.film.scene import Scene, Words, scene_of
from fretwright.film.size import FilmSize
from fretwright.film.stage import count_room, neck_place
from fretwright.score.score import Score
from plate_gallery_signs import SIGNS
from scores import line

LONG = line(" ".join(["6/5 6/8h 5/5 5/7 4/5 4/7 3/5 3/7"] * 6))
WORDS = Words("Stairs", "Up", "A lighthouse", "90 beats a minute")
SIZES = [(320, 180), (240, 240), (180, 320)]


def scene(
    score: Score = LONG,
    pixels: tuple[int, int] = (320, 180),
    *,
    overlay: bool = False,
    fretboard: bool = False,
    reduced_motion: bool = False,
    bpm: float = 90.0,
) -> Scene:
    screen = screen_of(FilmSize(*pixels, 25), overlay=overlay, fretboard=fretboard)
    clock = clock_of(score, bpm)
    return scene_of(
        score,
        clock if overlay else clock.later(1.0),
        screen,
        WORDS,
        fretboard_diagram(score) if fretboard else None,
        reduced_motion=reduced_motion,
    )


# -- layout ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("pixels", [*SIZES, (1280, 720), (1920, 1080), (3840, 2160), (1080, 1920)])
@pytest.mark.parametrize("overlay", [False, True])
@pytest.mark.parametrize("fretboard", [False, True])
def test_everything_stands_inside_the_safe_area(
    pixels: tuple[int, int], overlay: bool, fretboard: bool
) -> None:
    # EBU R 95: graphics stay 5 % away from every edge (from memory).
    screen = screen_of(FilmSize(*pixels, 25), overlay=overlay, fretboard=fretboard)
    rects = [*screen.slots(2), *screen.slots(1), *([screen.card] if screen.card else [])]
    rects += [screen.neck] if screen.neck else []
    width, height = pixels

    for rect in rects:
        assert rect.x >= MARGIN * width - 2
        assert rect.right <= (1 - MARGIN) * width + 2
        assert rect.y >= MARGIN * height - 2
        assert rect.bottom <= (1 - MARGIN) * height + 2
    one, other = screen.slots(2)
    assert one.right <= other.x or one.bottom <= other.y
    if screen.neck:
        assert screen.neck.y >= screen.plate.bottom or screen.neck.x >= screen.plate.right
    if screen.card:
        assert screen.card.y >= height * 0.3
        for rect in (screen.plate, count_room(screen), *([screen.neck] if screen.neck else [])):
            assert screen.card.x <= rect.x
            assert rect.right <= screen.card.right
            assert screen.card.y <= rect.y
            assert rect.bottom <= screen.card.bottom


def luminance(colour: tuple[int, ...]) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in np.array(colour) / 255
    ]
    return float(np.dot(linear, (0.2126, 0.7152, 0.0722)))


def contrast(one: tuple[int, ...], other: tuple[int, ...]) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_text_is_as_sharp_at_2160_lines_as_at_720() -> None:
    score = line("6/5 6/8h 5/5 5/7 4/5 4/7 3/5 3/7")
    edges, ink = [], []
    for pixels in ((1280, 720), (3840, 2160)):
        shown = scene(score, pixels, overlay=True)
        slot = shown.slots[0]
        luma = Painter(shown, "yuv420p").paint(0.0).planes[0]
        dark = 1 - (luma[slot.y : slot.bottom, slot.x : slot.right].astype(float) - 16) / 219
        # a drawn edge is one pixel wide at any size; an enlarged one grows with the size
        edges.append(np.count_nonzero((dark > 0.2) & (dark < 0.8)))
        ink.append(np.count_nonzero(dark >= 0.8))
        # the digits of the tab: no player's caption is smaller (common practice, no source)
        box = next(box for box in shown.strip.plate.boxes[score.notes[0].id] if box.layer == "tab")
        left, top, right, bottom = shown.strip.box_px(box)
        assert bottom - top >= 0.014 * shown.screen.size.height
        assert right > left
    # three times as high and wide; lines that were thinner than a pixel become full
    assert ink[1] / ink[0] > 9
    assert edges[1] / edges[0] < 4.5


def test_the_palette_has_the_contrast_that_is_asked_for() -> None:
    # WCAG 2.2, 1.4.3: 4.5 : 1 of text; 1.4.11: 3 : 1 of signs.
    assert contrast(rgb(INK), rgb(PAPER)) > 16
    assert contrast(rgb(SOFT), rgb(PAPER)) > 7
    assert contrast(rgb(RUBRIC), rgb(PAPER)) > 7


@pytest.mark.parametrize("footage", [0, 128, 255])
def test_an_overlay_reads_the_same_over_dark_and_over_light(footage: int) -> None:
    shown = scene(overlay=True, pixels=(640, 360))
    pixels = Painter(shown, "rgba").paint(shown.clock.music_starts_s).pixels().astype(float)
    alpha = pixels[..., 3:] / 255
    laid = (pixels[..., :3] * alpha + footage * (1 - alpha)).round().astype(int)
    slot = shown.slots[0]
    music = laid[slot.y : slot.bottom, slot.x : slot.right].reshape(-1, 3)

    darkest, lightest = music[music.sum(axis=1).argmin()], music[music.sum(axis=1).argmax()]
    assert contrast(tuple(darkest), tuple(lightest)) > 12
    # The card's own edge tells it from light footage, its paper from dark.
    card = shown.screen.card
    assert card is not None
    row = laid[card.y + card.height // 2, card.x - 2 : card.x + 6]
    assert contrast(tuple(row[row.sum(axis=1).argmin()]), tuple(row[row.sum(axis=1).argmax()])) > 3


# -- what is in view ---------------------------------------------------------------------------------------


def test_the_line_being_played_is_in_view_and_so_is_the_next() -> None:
    shown = scene()
    visits = shown.path.visits
    assert len(visits) > 3

    for place, visit in enumerate(visits):
        late_s = visit.start_s + 0.9 * (visit.end_s - visit.start_s)
        moment = shown.at(late_s)
        lines = [slot.line for slot in moment.slots]
        assert lines[moment.playing] == visit.line == moment.spot.line
        if place + 1 < len(visits):
            assert visits[place + 1].line in lines


@pytest.mark.parametrize("reduced_motion", [False, True])
def test_a_line_stands_still_while_it_is_played(reduced_motion: bool) -> None:
    shown = scene(reduced_motion=reduced_motion)
    for frame in range(shown.frame_count):
        moment = shown.at(shown.time_of(frame))
        playing = moment.slots[moment.playing]
        assert playing.following is None
        assert playing.line == moment.spot.line


def test_reduced_motion_has_neither_fades_nor_runs() -> None:
    shown = scene(reduced_motion=True)
    moments = [shown.at(shown.time_of(frame)) for frame in range(shown.frame_count)]

    assert all(slot.following is None for moment in moments for slot in moment.slots)
    columns = {(leg.line, leg.from_mm) for leg in shown.path.legs}
    assert {(moment.spot.line, moment.spot.x_mm) for moment in moments} <= columns


def test_an_exercise_of_one_line_has_the_room_for_itself() -> None:
    shown = scene(line("6/5 6/8 5/5 5/7"))

    assert shown.strip.lines == shown.slot_count == 1
    assert shown.slots[0].width == shown.screen.plate.width


@pytest.mark.parametrize("pixels", SIZES)
def test_a_repeat_shows_the_line_that_it_goes_back_to(pixels: tuple[int, int]) -> None:
    score = replace(LONG, bars=(*LONG.bars[:-1], replace(LONG.bars[-1], closes_repeat=2)))
    shown = scene(score, pixels)
    visits = shown.path.visits
    last = next(place for place, visit in enumerate(visits) if visit.line == shown.strip.lines - 1)
    visit = visits[last]

    moment = shown.at(visit.end_s - 0.05)

    assert {slot.line for slot in moment.slots} == {visit.line, 0}


def test_chapters_cover_the_film_without_a_gap() -> None:
    shown = scene()
    marks = chapters(shown)

    assert [mark.title for mark in marks[:3]] == ["Stairs", "Count-in", marks[2].title]
    assert marks[2].start_s == pytest.approx(shown.clock.music_starts_s)
    assert marks[2].title.startswith(("Bar 1", "Bars 1 to "))
    assert marks[0].start_s == 0.0
    assert marks[-1].end_s == pytest.approx(shown.frame_count / 25)
    for sooner, later in pairwise(marks):
        assert sooner.end_s == later.start_s


# -- painting ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("overlay", [False, True])
def test_a_picture_does_not_depend_on_the_pictures_before_it(overlay: bool) -> None:
    shown = scene(overlay=overlay, fretboard=True)
    running = Painter(shown, "rgba")
    for frame in range(0, shown.frame_count, 3):
        picture = running.paint(shown.time_of(frame)).pixels()
        if frame % 36 == 0:
            alone = Painter(shown, "rgba").paint(shown.time_of(frame)).pixels()
            assert (picture == alone).all()


def test_the_sounding_note_is_framed_and_its_place_is_ringed() -> None:
    shown = scene(fretboard=True, pixels=(640, 360))
    painter = Painter(shown, "rgba")
    note = shown.clock.notes[1]
    silent = painter.paint(note.onset_s - 0.2).pixels()  # the note before it
    sounding = painter.paint(note.onset_s + 0.05).pixels()

    assert shown.diagram is not None
    neck = shown.screen.neck
    assert neck is not None
    region = np.s_[neck.y : neck.bottom, neck.x : neck.right, :3]
    red = (sounding[region].astype(int) @ (1, -1, 0)) > 60
    before = (silent[region].astype(int) @ (1, -1, 0)) > 60
    place = shown.score.note(note.note_id).place
    box = shown.diagram.boxes[place]
    scale = min(neck.width / shown.diagram.width_mm, neck.height / shown.diagram.height_mm)
    top = neck.height / 2 - shown.diagram.height_mm * scale / 2
    rows, columns = np.nonzero(red)
    assert columns.mean() == pytest.approx((box.left + box.right) / 2 * scale, abs=1.5)
    assert rows.mean() == pytest.approx(top + (box.top + box.bottom) / 2 * scale, abs=1.5)
    assert (red != before).any()


def test_a_chart_without_notes_can_be_filmed() -> None:
    score = chart(["A7", "D7", "A7 E7"])
    clock = clock_of(score, 100.0)
    shown = scene_of(score, clock, screen_of(FilmSize(320, 180, 25), overlay=False, fretboard=False), WORDS)
    painter = Painter(shown, "yuv420p")

    # the playhead runs through its bars all the same
    places = [shown.at(bar.start_s + 0.1).spot.x_mm for bar in clock.bars]
    assert places == sorted(set(places))
    pictures = [painter.paint(bar.start_s + 0.1).planes[0].copy() for bar in clock.bars]
    assert (pictures[0] != pictures[1]).any()
    assert descriptions(walk_through(score).sentences, clock)


def test_the_notes_of_a_chord_are_ringed_on_the_chord_that_is_held() -> None:
    score, _ = SIGNS["strummed"]
    held = held_in(score, 4)
    assert held is not None
    screen = screen_of(FilmSize(640, 360, 25), overlay=False, fretboard=True)
    assert screen.neck is not None
    shown = scene_of(score, clock_of(score, 60.0), screen, WORDS, held)
    lies = neck_place(screen, screen.neck, held.diagram)

    for bar in shown.clock.bars[:2]:
        moment = shown.at(bar.start_s + 0.3)
        rings = [each.rect for each in neck_marks(shown, moment)]
        own = held.changes[bar.index][1]
        assert len(rings) == len(own)
        for box in own.values():
            x, y = (lies.x + box.left * lies.px_per_mm, lies.y + box.top * lies.px_per_mm)
            assert any(rect.x <= x <= rect.right and rect.y <= y <= rect.bottom for rect in rings)


def test_the_visual_count_is_seen_to_change_at_most_three_times_a_second() -> None:
    shown = scene(line(" ".join(["6/5"] * 32)), bpm=230)
    painter = Painter(shown, "rgba")
    room = count_room(shown.screen)
    start = round(shown.clock.sound_starts_s * 25) + 1
    seen = [
        painter.paint(shown.time_of(frame)).pixels()[room.y : room.bottom, room.x : room.right].copy()
        for frame in range(start, start + 75)
    ]
    changes = [frame for frame in range(1, 75) if (seen[frame] != seen[frame - 1]).any()]

    assert len(changes) >= 5
    assert all(sum(first <= other < first + 25 for other in changes) <= 3 for first in changes)
