"""What a student does with the player: by keyboard, by finger, again and again, and when something is wrong.

Numbers in the docstrings are success criteria of WCAG 2.2.
"""

from typing import Final

import numpy as np
import pytest
from playwright.sync_api import Locator, Page

from browsing import (
    FADE_IN_FRAMES,
    LESSON,
    RECORDER,
    SLURRED,
    OpenPage,
    Site,
    Visit,
    desk,
    framed,
    in_frames,
    press_play,
    started,
    state,
    until,
    without_count,
)
from fretwright.sound.render import render


def test_a_pause_holds_and_goes_on_at_the_note_it_cut_off(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON, script=RECORDER).page
    section = desk(page)
    without_count(section)
    press_play(section)
    page.wait_for_timeout(1300)  # the middle of a note: at its edge the mark may be a frame behind
    section.locator("[data-play]").click()
    assert state(section) == "Paused in the whole exercise at 120."
    assert section.locator("[data-play]").inner_text() == "Go on"
    held, where = framed(section), section.locator("[data-where]").inner_text()
    assert len(held) == 1
    assert page.evaluate("Player.clock.booked.size") == 0
    page.wait_for_timeout(400)
    assert (framed(section), section.locator("[data-where]").inner_text()) == (held, where)
    page.evaluate("window.started.length = 0")
    press_play(section)
    offset = (in_frames(started(page, clicks=False), "offset")[0] + FADE_IN_FRAMES) / 48_000
    material = small_site.materials["01-stairs/slurred"]
    onset = {each.note_id: each.onset_s for each in render(material.score, 120).time_map}
    assert offset == pytest.approx(onset[held[0]], abs=1e-4)


def test_it_ends_by_itself_and_is_ready_again(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON).page
    section = desk(page)
    without_count(section)
    press_play(section)
    page.locator(f"{SLURRED}[data-now=ready]").wait_for(timeout=8000)
    assert framed(section) == []
    assert section.locator("[data-play]").inner_text() == "Play"


def test_one_exercise_sounds_at_a_time(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON).page
    press_play(desk(page))
    desk(page, "#ex-up-and-back").locator("[data-play]").click()
    until(page, "Player.active.section.id === 'ex-up-and-back' && Player.active.state === 'playing'")
    assert state(desk(page)).startswith("Paused")


def test_another_rung_starts_again_at_its_own_tempo(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON, script=RECORDER).page
    section = desk(page)
    section.locator("[data-click]").check()
    press_play(section)
    page.evaluate("window.started.length = 0")
    section.locator(".rung", has_text="140").click()
    until(page, "window.started.length > 4")
    assert "at 140" in state(section)
    assert np.diff(in_frames(started(page, clicks=True))[:4]) == pytest.approx(48_000 * 60 / 140, abs=1)


def test_all_of_it_by_keyboard_alone(small_site: Site, visit: OpenPage) -> None:
    """2.1.1. Focus starts at the row of the first exercise and only ever moves by Tab."""
    page = visit(small_site, LESSON).page
    section = desk(page, "#ex-up-and-back")
    section.locator("[data-play]").focus()
    keys = page.keyboard
    keys.press("Tab")
    keys.press("Tab")
    keys.press("ArrowRight")  # the ladder
    assert section.locator("input[value='106']").is_checked()
    keys.press("Tab")
    keys.press("Space")  # this rung sits
    assert section.locator("[data-sits]").is_checked()
    keys.press("Tab")
    keys.press("ArrowDown")  # how often
    assert section.locator("input[value=round]").is_checked()
    keys.press("Tab")
    keys.press("ArrowDown")  # from the second note
    keys.press("Tab")
    keys.press("Home")  # to a note before it: the part then is that one note
    assert section.locator("[data-from]").input_value() == section.locator("[data-to]").input_value() == "0"
    keys.press("End")
    keys.press("Tab")  # the button that takes the whole is out of use while it is the whole
    assert page.evaluate("document.activeElement.dataset.countIn") is not None
    keys.press("Space")
    keys.press("Tab")
    keys.press("Space")
    assert section.locator("[data-click]").is_checked()
    keys.press("Tab")
    keys.press("ArrowRight")
    assert section.locator("[data-level]").input_value() == "55"
    section.locator("[data-play]").focus()
    keys.press("Enter")
    until(page, "Player.active.section.id === 'ex-up-and-back' && Player.active.state === 'playing'")
    assert state(section) == "Playing the whole exercise at 106, round and round."
    keys.press("Space")
    assert state(section).startswith("Paused")


def press_note(page: Page, section: Locator, at: int) -> None:
    """Press a note's place on the plate that is seen, as a finger would: near it, not on its very middle."""
    box = section.evaluate(
        """(each, at) => {
             const data = JSON.parse(each.querySelector("[data-for-player]").textContent);
             const copy = [...each.querySelectorAll(".copy")].find((one) => one.getClientRects().length);
             const svg = copy.querySelector("svg");
             svg.scrollIntoView({ block: "center" });
             const [left, top, width, height] = data[copy.dataset.plate].boxes[data.notes[at].id].at(-1);
             const matrix = svg.getScreenCTM();
             const place = new DOMPoint(left + width / 2, top + height / 2).matrixTransform(matrix);
             return [place.x + 3, place.y + 4];
           }""",
        at,
    )
    page.mouse.click(*box)


@pytest.mark.parametrize("width", [320, 1280])
@pytest.mark.parametrize("order", [(2, 5), (5, 2)])
def test_two_presses_on_the_plate_mark_a_part(
    small_site: Site, visit: OpenPage, width: int, order: tuple[int, int]
) -> None:
    """2.5.7: nothing has to be dragged."""
    page = visit(small_site, LESSON, width=width).page
    section = desk(page)
    press_note(page, section, order[0])
    assert "Now press the last note." in state(section)
    press_note(page, section, order[1])
    assert (section.locator("[data-from]").input_value(), section.locator("[data-to]").input_value()) == (
        "2",
        "5",
    )
    assert section.locator("input[value=round]").is_checked()
    brackets = section.locator(".brackets path")
    seen = brackets.evaluate_all("(all) => all.filter((each) => each.getClientRects().length).length")
    assert seen == 2
    section.locator("[data-whole]").click()
    assert section.locator(".brackets path").count() == 0
    assert "the whole exercise" in state(section)


SCROLLS: Final = """
window.scrolls = [];
const into_view = Element.prototype.scrollIntoView;
Element.prototype.scrollIntoView = function (how) {
  window.scrolls.push(how.behavior);
  into_view.call(this, how);
};
"""


@pytest.mark.parametrize(
    ("wish", "behaviour", "turned"), [("reduce", "instant", "wheel"), ("no-preference", "smooth", "keydown")]
)
def test_the_page_follows_the_music_and_moves_only_for_those_who_do_not_mind(
    small_site: Site, visit: OpenPage, wish: str, behaviour: str, turned: str
) -> None:
    page = visit(small_site, LESSON, width=320, height=300, script=SCROLLS, reduced_motion=wish).page
    section = desk(page)
    without_count(section)
    press_play(section)
    until(page, "window.scrolls.length > 0")
    assert set(page.evaluate("window.scrolls")) == {behaviour}
    # A student who scrolls, or turns to another control, is left alone from then on.
    page.evaluate(f"window.dispatchEvent(new Event('{turned}')); window.scrollTo(0, 0)")
    page.evaluate("window.scrolls.length = 0")
    page.wait_for_timeout(900)
    assert page.evaluate("window.scrolls") == []


@pytest.mark.parametrize("wish", ["reduce", "no-preference"])
def test_nothing_on_the_page_moves_by_itself(small_site: Site, visit: OpenPage, wish: str) -> None:
    """Marks step from note to note; there is no transition and no animation to be reduced."""
    page = visit(small_site, LESSON, reduced_motion=wish).page
    press_play(desk(page))
    moving = page.evaluate(
        """[...document.querySelectorAll("*")].map((each) => getComputedStyle(each))
             .filter(({ animationName, transitionDuration }) =>
               animationName !== "none" || parseFloat(transitionDuration) > 0).length"""
    )
    assert moving == 0


def test_sound_that_is_stopped_from_outside_is_a_pause(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON).page
    press_play(desk(page))
    page.evaluate("Player.clock.context.suspend()")
    until(page, "Player.active.state === 'paused'")
    press_play(desk(page))
    assert page.evaluate("Player.clock.context.state") == "running"


# What a page remembers -----------------------------------------------------------------------------------


@pytest.mark.parametrize("over", ["file", "http"])
def test_ticks_are_kept_and_counted_on_the_course_page(small_site: Site, visit: OpenPage, over: str) -> None:
    page = visit(small_site, LESSON, over=over).page
    section = desk(page, "#ex-up-and-back")
    section.locator("[data-sits]").check()
    assert "100 sits" in section.locator(".sits").inner_text()
    page.reload()
    assert section.locator(".rung").first.inner_text().split() == ["100", "✓", "sits"]
    assert section.locator("input[value='106']").is_checked()  # the next rung is the one to stand on
    page.goto(small_site.address("index.html", over))
    assert page.locator("[data-progress]").first.inner_text() == "1 of 7 rungs sit"
    assert not page.locator("[data-progress]").nth(1).is_visible()


def test_a_level_once_set_low_stays_low(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON).page
    desk(page).locator("[data-level]").fill("15")
    desk(page).locator("[data-click]").check()
    desk(page).locator("[data-count-in]").uncheck()
    page.goto(small_site.address("lessons/02-lamp.html", "file"))
    assert page.locator("[data-level]").input_value() == "15"
    assert page.locator("[data-click]").is_checked()
    assert not page.locator("[data-count-in]").is_checked()


def test_a_browser_that_keeps_nothing_still_plays(small_site: Site, visit: OpenPage) -> None:
    refusal = """Object.defineProperty(window, "localStorage", {
                   get() { throw new DOMException("no", "SecurityError"); },
                 });"""
    page = visit(small_site, LESSON, script=refusal).page
    section = desk(page)
    section.locator("[data-sits]").check()
    assert section.locator(".rung").first.inner_text().split() == ["120", "✓", "sits"]
    press_play(section)


# What can go wrong ---------------------------------------------------------------------------------------


def broken(site: Site, visit: OpenPage, script: str) -> Visit:
    here = visit(site, LESSON, script=script)
    here.page.locator(f"{SLURRED} [data-play]").click()
    here.page.locator(f"{SLURRED} .plain-sound[open]").wait_for()
    return here


def test_sound_that_is_missing_is_said_so(small_site: Site, visit: OpenPage) -> None:
    lost = small_site.folder / small_site.materials["01-stairs/slurred"].rungs[0].script
    aside = lost.rename(lost.with_suffix(".aside"))
    try:
        here = broken(small_site, visit, "")
    finally:
        aside.rename(lost)
    assert "plain sound files below" in state(desk(here.page))
    here.forgiven = ("ERR_FILE_NOT_FOUND",)


def test_a_machine_without_a_loudspeaker_is_said_so(small_site: Site, visit: OpenPage) -> None:
    """As Firefox behaves where no output is connected: the context stays asleep, and never says why."""
    mute = """AudioContext.prototype.resume = () => new Promise(() => {});
              Object.defineProperty(BaseAudioContext.prototype, "state", { get: () => "suspended" });"""
    here = broken(small_site, visit, mute)
    assert state(desk(here.page)).startswith("No loudspeaker or headphones answer.")


def test_sound_that_a_browser_cannot_decode_is_said_so(small_site: Site, visit: OpenPage) -> None:
    deaf = """BaseAudioContext.prototype.decodeAudioData = () =>
                Promise.reject(new DOMException("no", "EncodingError"));"""
    here = broken(small_site, visit, deaf)
    assert "plain sound files below" in state(desk(here.page))
