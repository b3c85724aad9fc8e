"""Every page of a site in a real browser: whole, quiet, within reach of everyone, at every width.

Rules from outside the project: axe-core's, and WCAG 2.2 by the number of the success criterion.
"""

import pytest

from browsing import OpenPage, Site

WIDTHS = (320, 768, 1280)
LESSON = "lessons/01-stairs.html"


@pytest.mark.parametrize("over", ["file", "http"])
def test_every_page_of_the_demo_is_sound_at_every_width(demo_pages: Site, visit: OpenPage, over: str) -> None:
    """No complaint on the console, no request outside, nothing for axe, no sideways scrolling (1.4.10)."""
    assert len(demo_pages.pages) >= 7
    for path in demo_pages.pages:
        here = visit(demo_pages, path, over=over)
        for width in WIDTHS:
            here.page.set_viewport_size({"width": width, "height": 800})
            wide = here.page.evaluate("document.documentElement.scrollWidth")
            assert wide <= width, (path, width)
            if over == "file" and width != 768:
                assert here.axe() == [], (path, width)


def test_words_that_are_too_long_are_broken_and_not_scrolled_to(rough_pages: Site, visit: OpenPage) -> None:
    """1.4.10, where a teacher's words are longer than a line."""
    for path in rough_pages.pages:
        here = visit(rough_pages, path, width=320)
        assert here.page.evaluate("document.documentElement.scrollWidth") <= 320, path


def test_axe_would_notice(small_site: Site, visit: OpenPage) -> None:
    here = visit(small_site, LESSON)
    here.page.evaluate("document.querySelector('h1').innerHTML = '<img src=\"\"><button></button>'")
    assert {line.split(":")[0] for line in here.axe()} >= {"image-alt", "button-name"}
    here.forgiven = ("",)


def test_everything_opened_is_sound_too(small_site: Site, visit: OpenPage) -> None:
    here = visit(small_site, LESSON)
    here.page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    here.page.locator("[data-play]").first.click()
    here.page.locator("[data-around]").first.wait_for(state="attached")
    assert here.axe() == []
    for width in WIDTHS:
        here.page.set_viewport_size({"width": width, "height": 800})
        assert here.page.evaluate("document.documentElement.scrollWidth") <= width


def test_lines_set_wide_apart_lose_nothing(small_site: Site, visit: OpenPage) -> None:
    """1.4.12: the reader's own spacing of lines, letters and words."""
    here = visit(small_site, LESSON, width=320)
    here.page.evaluate(
        """for (const each of document.querySelectorAll("body *")) {
             const style = each.style;
             if (!style) continue;
             style.lineHeight = "1.5"; style.letterSpacing = "0.12em"; style.wordSpacing = "0.16em";
           }"""
    )
    assert here.page.evaluate("document.documentElement.scrollWidth") <= 320
    cut_off = """[...document.querySelectorAll("button, label, legend, summary, h1, h2, p, li")]
        .filter((each) => each.clientWidth > 0 && each.scrollWidth > each.clientWidth + 1)
        .map((each) => each.outerHTML.slice(0, 120))"""
    assert here.page.evaluate(cut_off) == []


def test_what_is_pressed_is_large_enough(small_site: Site, visit: OpenPage) -> None:
    """2.5.8: 24 CSS pixels each way; a link inside a line of text is excepted."""
    here = visit(small_site, LESSON, width=320)
    small = here.page.evaluate(
        """[...document.querySelectorAll("button, select, summary, label:has(input), input, main a, nav a")]
             .filter((each) => !each.closest(".prose p, .needs, .remark"))
             .map((each) => [each.closest("label") || each, each.outerHTML])
             .map(([each, html]) => [each.getBoundingClientRect(), html])
             .filter(([box]) => box.width > 0 && (box.width < 24 || box.height < 24))
             .map(([box, html]) => `${box.width} x ${box.height} ${html.slice(0, 90)}`)"""
    )
    assert small == []


def test_keyboard_focus_is_seen_everywhere_and_hidden_nowhere(small_site: Site, visit: OpenPage) -> None:
    """2.4.7 and 2.4.11, while the row with the pause sticks to the foot of a small window."""
    here = visit(small_site, LESSON, width=320, height=480)
    here.page.locator("input[value=round]").first.check()
    here.page.locator("[data-play]").first.click()
    here.page.locator("[data-now=playing]").wait_for()
    here.page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")
    seen = set()
    for key in ["Tab"] * 40 + ["Shift+Tab"] * 30:
        here.page.keyboard.press(key)
        here.page.wait_for_timeout(20)
        focus = here.page.evaluate(
            """(() => {
                 const each = document.activeElement;
                 if (each === document.body) return null;
                 const box = each.getBoundingClientRect();
                 const shown = each.closest(".rung") || each;
                 const style = getComputedStyle(shown);
                 const on_top = [[0.5, 0.5], [0.1, 0.1], [0.9, 0.9]].some(([x, y]) => {
                   const top = document.elementFromPoint(box.x + box.width * x, box.y + box.height * y);
                   return top !== null && (top === each || shown.contains(top) || each.contains(top));
                 });
                 return {
                   name: each.outerHTML.slice(0, 100),
                   outlined: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
                   on_top,
                 };
               })()"""
        )
        if focus is None:
            continue
        seen.add(focus["name"])
        assert focus["outlined"], focus["name"]
        assert focus["on_top"], focus["name"]
    assert len(seen) >= 15


def test_the_page_jumps_past_its_head(small_site: Site, visit: OpenPage) -> None:
    """2.4.1."""
    here = visit(small_site, LESSON)
    here.page.keyboard.press("Tab")
    here.page.keyboard.press("Enter")
    assert here.page.evaluate("document.activeElement.id") == "main"


def test_the_plate_that_fits_is_the_one_that_is_seen(small_site: Site, visit: OpenPage) -> None:
    here = visit(small_site, LESSON)
    wide, narrow = here.page.locator(".copy.wide").first, here.page.locator(".copy.narrow").first
    assert (wide.is_visible(), narrow.is_visible()) == (True, False)
    here.page.set_viewport_size({"width": 320, "height": 640})
    assert (wide.is_visible(), narrow.is_visible()) == (False, True)
    # The smallest digits stay as large as on paper: a CSS pixel is 1/96 inch.
    scale = here.page.evaluate("document.querySelector('.copy.narrow svg').getScreenCTM().a")
    assert scale >= 0.9 * 96 / 25.4


def test_without_scripts_all_is_read_and_heard_but_the_desk(small_site: Site, visit: OpenPage) -> None:
    here = visit(small_site, LESSON, java_script_enabled=False)
    page = here.page
    assert page.locator(".copy.wide").first.is_visible()
    assert page.locator(".diagram").first.is_visible()
    assert not page.locator("[data-desk]").first.is_visible()
    assert not page.locator("[data-play]").first.is_visible()
    page.locator(".walk-through summary").first.click()
    assert page.locator(".walk-through li").first.is_visible()
    page.locator(".plain-sound summary").first.click()
    assert page.locator("audio").first.is_visible()


def test_the_plain_sound_files_play(small_site: Site, visit: OpenPage) -> None:
    here = visit(small_site, LESSON)
    length = here.page.evaluate(
        """new Promise((resolve, reject) => {
             const audio = document.querySelector("audio");
             audio.onloadedmetadata = () => resolve(audio.duration);
             audio.onerror = () => reject(new Error(audio.error.message));
             audio.load();
           })"""
    )
    assert length > 3


def test_on_paper_stands_what_a_music_stand_needs(small_site: Site, visit: OpenPage) -> None:
    here = visit(small_site, LESSON, width=320)
    here.page.emulate_media(media="print")
    page = here.page
    for kept in (".copy.wide", ".paper-ladder", ".caution", ".remark", ".diagram"):
        assert page.locator(kept).first.is_visible(), kept
    for left_out in (".copy.narrow", "[data-desk]", "[data-play]", ".plain-sound", ".turn-page", ".skip"):
        assert not page.locator(left_out).first.is_visible(), left_out
    assert page.locator(".paper-ladder").first.inner_text().split() == ["100", "106", "112"]
