"""A student practises: a take is recorded in the page, judged, and read on the plate it was played from.

Chromium's fake microphone plays the teacher's own sound of the exercise, over and over, so that the whole way
is walked for real: input check, recording, upload, the ear, the verdicts. How well the ear hears real guitars
is measured elsewhere (``evaluation/ear``).
"""

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Route, expect

from browsing import CHROMIUM, CHROMIUM_ARGUMENTS, Visit, until
from fretwright.base.units import SAMPLE_RATE_HZ
from fretwright.score.score import Score
from fretwright.sound.render import render
from school import Served

LESSON = "/course/lessons/01-stairs.html"
SECTION = "#ex-slurred"
TAKE_S = 8.0
"""Long enough for one whole pass of a loop of five seconds, wherever the recording begins."""
MICROPHONE = ("--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream")


def take_of(score: Score, path: Path, *, level: float = 0.5) -> Path:
    """A performed take, with silence around it, as a file for the fake microphone."""
    sound = render(score, 140).samples.mean(axis=1)
    quiet = np.zeros(SAMPLE_RATE_HZ // 4)
    played = np.concatenate([quiet, level * sound / np.abs(sound).max(), quiet])
    soundfile.write(path, played, SAMPLE_RATE_HZ, subtype="PCM_16")
    return path


def as_student(browser: Browser, served: Served, width: int = 1100) -> BrowserContext:
    context = browser.new_context(viewport={"width": width, "height": 900})
    cookie: Any = served.cookie(served.people.student)
    context.add_cookies([cookie])
    return context


@pytest.fixture(scope="module")
def performed(served_school: Served, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The take that the microphone hears."""
    score = served_school.people.school.classroom.now.checked.fingered["01-stairs/slurred"].score
    return take_of(score, tmp_path_factory.mktemp("takes") / "take.wav")


def with_microphone(chromium: Browser, file: Path) -> Browser:
    """A browser whose microphone plays a file over and over."""
    hears = f"--use-file-for-fake-audio-capture={file}"
    return chromium.browser_type.launch(
        executable_path=CHROMIUM, args=[*CHROMIUM_ARGUMENTS, *MICROPHONE, hears]
    )


@pytest.fixture(scope="module")
def listening(chromium: Browser, performed: Path) -> Iterator[Browser]:
    """A browser whose microphone hears the take."""
    browser = with_microphone(chromium, performed)
    yield browser
    browser.close()


@contextmanager
def calm(page: Page) -> Iterator[None]:
    """Nothing may be complained of on the console."""
    said: list[str] = []
    page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: said.append(str(error)))
    yield
    assert said == []


def axe(page: Page) -> list[str]:
    return Visit(page).axe()


def open_room(context: BrowserContext, served: Served) -> Page:
    page = context.new_page()
    page.goto(served.address + LESSON)
    expect(page.locator(f"{SECTION} [data-record]")).to_be_visible()
    return page


def pass_check(page: Page) -> None:
    """The input check that comes before the first take."""
    page.locator(f"{SECTION} [data-record]").click()
    expect(state_of(page)).to_contain_text("Good", timeout=15_000)


def state_of(page: Page) -> Locator:
    return page.locator(f"{SECTION} [data-take-state]")


def record(page: Page, seconds: float) -> None:
    """Record without a count, and stop."""
    desk = page.locator(f"{SECTION} [data-take-desk]")
    desk.locator("[data-take-count]").uncheck()
    desk.locator("[data-record]").click()
    expect(state_of(page)).to_contain_text("Recording at 120")
    page.wait_for_timeout(1000 * seconds)
    desk.locator("[data-record]").click()


def test_a_take_is_recorded_and_read_on_its_plate_and_the_next_days_plan_rests_on_it(
    listening: Browser, served_school: Served
) -> None:
    context = as_student(listening, served_school)
    page = open_room(context, served_school)
    with calm(page):
        pass_check(page)
        assert float(page.locator(f"{SECTION} [data-meter]").evaluate("(meter) => meter.value")) > -60
        record(page, TAKE_S)
        told = page.locator(f"{SECTION} [data-verdicts]")
        expect(told.locator(".headline")).to_be_visible(timeout=60_000)

        # the sound arrived: most notes were heard, wherever in its loop the recording began
        told.locator("details summary").click()
        words = told.locator("tbody td:nth-child(4)").all_inner_texts()
        assert words.count("played") >= len(words) - 3
        # the picture stands where the plate stood, until the plate is asked for
        written = page.locator(f"{SECTION} > .copies")
        assert not written.is_visible()
        assert told.locator(".copy.wide svg").is_visible()
        assert axe(page) == []
        told.locator("[data-toggle-plate]").click()
        assert written.is_visible()

        # one bar of the take, then the same bar of the model
        told.locator('[data-bar="2"]').click()
        expect(state_of(page)).to_have_text("The model, bar 2.", timeout=15_000)
        until(page, "Player.active && Player.active.state === 'playing'")
        expect(page.locator(f"{SECTION} [data-state]")).to_have_text("Playing part of bar 2 at 120, once.")

        page.goto(served_school.address + "/progress")
        assert page.locator(".way table tbody tr").count() == 1
        served_school.people.clock.forward(days=1)
        page.goto(served_school.address + "/today")
        assert "Nothing was recorded before today" not in page.inner_text("main")
        assert page.locator(".plan > li").count() >= 3
    context.close()


def test_without_a_connection_lesson_and_model_go_on_and_a_take_waits(
    listening: Browser, served_school: Served
) -> None:
    context = as_student(listening, served_school)
    page = open_room(context, served_school)
    until(page, "navigator.serviceWorker.controller !== null")
    kept = """Promise.all(
      [location.href, "/practice/desks/01-stairs", "/course/sounds/01-stairs/slurred-140.js"]
        .map((address) => caches.match(address)),
    ).then((found) => found.every(Boolean))"""
    ends = time.monotonic() + 20
    while not page.evaluate(kept):
        assert time.monotonic() < ends, "the lesson is not kept"
        page.wait_for_timeout(50)
    context.set_offline(True)
    page.reload()
    expect(page.locator(f"{SECTION} [data-record]")).to_be_visible()
    section = page.locator(SECTION)
    section.locator('.rung input[value="140"]').check()
    section.locator("[data-count-in]").uncheck()
    section.locator("[data-play]").click()
    until(page, "Player.active && Player.active.state === 'playing'")
    section.locator('.rung input[value="120"]').check()

    pass_check(page)
    record(page, 1.5)
    expect(state_of(page)).to_contain_text("kept on this device", timeout=30_000)
    expect(page.locator("[data-waiting] li")).to_have_count(1)

    context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(page.locator("[data-waiting] li")).to_have_count(0, timeout=30_000)
    context.close()


def test_an_upload_that_breaks_goes_on_where_it_broke(
    chromium: Browser, served_school: Served, performed: Path
) -> None:
    context = as_student(chromium, served_school)
    page = open_room(context, served_school)
    offsets: list[int] = []

    def break_some(route: Route) -> None:
        offsets.append(int(route.request.headers["upload-offset"]))
        if len(offsets) == 1:
            route.fetch()  # it arrives, and the answer is lost
            route.abort("connectionreset")
        elif len(offsets) == 2:
            route.abort("connectionreset")
        else:
            route.continue_()

    context.route("**/api/takes/*/content", break_some)
    page.locator(f"{SECTION} [data-file]").set_input_files(performed)

    expect(page.locator(f"{SECTION} [data-verdicts] .headline")).to_be_visible(timeout=60_000)
    size = performed.stat().st_size
    assert offsets[0] == 0
    assert offsets[1] > 0
    assert offsets[2] == offsets[1]
    assert sorted(offsets) == offsets
    assert offsets[-1] < size
    context.close()


def test_what_the_school_will_not_take_stays_with_the_student(
    chromium: Browser, served_school: Served, performed: Path
) -> None:
    context = as_student(chromium, served_school)
    page = open_room(context, served_school)
    answers = [(401, "sign-in", "You are not signed in."), (413, "too-large", "The recording is too large.")]

    def turn_down(route: Route) -> None:
        status, code, message = answers[0]
        error = {"status": status, "code": code, "message": message, "mend": ""}
        route.fulfill(status=status, json={"error": error})

    context.route("**/api/takes", turn_down)
    file = page.locator(f"{SECTION} [data-file]")
    file.set_input_files(performed)
    expect(state_of(page)).to_contain_text("You are signed out. The take is kept here")
    waiting = page.locator("[data-waiting] li")
    expect(waiting).to_have_count(1)
    expect(waiting).to_contain_text("Slurred & sung at 120")

    answers.pop(0)
    page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(waiting).to_contain_text("The recording is too large.")
    with page.expect_download() as saved:
        waiting.get_by_role("link", name="Save it as a file").click()
    assert saved.value.path().stat().st_size == performed.stat().st_size
    waiting.get_by_role("button", name="Delete it here").click()
    expect(waiting).to_have_count(0)
    context.close()


def test_a_silent_microphone_is_told_before_the_first_take(
    chromium: Browser, served_school: Served, tmp_path: Path
) -> None:
    score = served_school.people.school.classroom.now.checked.fingered["01-stairs/slurred"].score
    browser = with_microphone(chromium, take_of(score, tmp_path / "silent.wav", level=0.0001))
    page = open_room(as_student(browser, served_school), served_school)
    page.locator(f"{SECTION} [data-record]").click()

    expect(state_of(page)).to_contain_text("Nothing comes from", timeout=15_000)
    assert page.locator(f"{SECTION} [data-record]").inner_text() == "Record a take"
    browser.close()


def test_by_keyboard_alone_the_input_is_checked_and_a_count_is_given_and_left(
    listening: Browser, served_school: Served
) -> None:
    context = as_student(listening, served_school, width=320)
    page = open_room(context, served_school)
    page.locator(f"{SECTION} [data-level]").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.hasAttribute('data-record')")
    page.keyboard.press("Enter")
    expect(state_of(page)).to_contain_text("Good", timeout=15_000)

    page.locator(f"{SECTION} [data-record]").focus()
    page.keyboard.press("Enter")
    expect(state_of(page)).to_contain_text("Count-in: 4 clicks at 120")
    page.keyboard.press("Enter")
    expect(state_of(page)).to_contain_text("Stopped before the first note")
    page.keyboard.press("Enter")
    expect(state_of(page)).to_contain_text("Recording at 120", timeout=10_000)
    context.close()


# What the scripts work out, in a browser but without a microphone


@pytest.fixture(scope="module")
def workbench(chromium: Browser, served_school: Served) -> Iterator[Page]:
    context = chromium.new_context()
    page = context.new_page()
    page.goto(served_school.address + "/sign-in")
    yield page
    context.close()


@pytest.mark.parametrize("delay_ms", [12, 85, 240])
def test_the_delay_of_a_device_is_found_in_a_recording_of_clicks(workbench: Page, delay_ms: int) -> None:
    found = workbench.evaluate(
        """async (delayMs) => {
          const { delayOf } = await import("/static/practice/latency.js");
          const rate = 48000;
          const clicks = [0.5, 1.2, 1.9, 2.6, 3.3, 4.0];
          const samples = new Float32Array(5 * rate);
          let seed = 7;
          for (let at = 0; at < samples.length; at++) {
            seed = (seed * 16807) % 2147483647;
            samples[at] = 0.002 * (seed / 2147483647 - 0.5);
          }
          for (const click of clicks) {
            const from = Math.round((click + delayMs / 1000) * rate);
            for (let at = 0; at < 1400; at++) {
              samples[from + at] += 0.2 * Math.sin(at / 5) * Math.exp(-at / 300);
            }
          }
          return delayOf(samples, rate, clicks);
        }""",
        delay_ms,
    )
    assert found == pytest.approx(delay_ms, abs=1)


def test_no_delay_is_claimed_where_no_click_was_heard(workbench: Page) -> None:
    script = """async () => {
      const { delayOf } = await import("/static/practice/latency.js");
      const samples = Float32Array.from({ length: 240000 }, (_, at) => 0.01 * Math.sin(at / 9));
      return delayOf(samples, 48000, [0.5, 1.2, 1.9, 2.6, 3.3, 4.0]);
    }"""
    assert workbench.evaluate(script) is None


@pytest.mark.parametrize(
    ("peaks", "verdict"),
    [
        ([0.0001] * 40, "silent"),
        ([0.001] * 30 + [0.01] * 10, "quiet"),
        ([0.005] * 20 + [0.3] * 20, "good"),
        ([0.005] * 20 + [1.0] * 20, "clipping"),
        ([0.2] * 20 + [0.3] * 20, "noisy"),
    ],
)
def test_the_input_is_judged_by_its_loudest_and_quietest_moments(
    workbench: Page, peaks: list[float], verdict: str
) -> None:
    found = workbench.evaluate(
        """async (peaks) => {
          const { adviceFor, factsOf, verdictOn } = await import("/static/practice/levels.js");
          const verdict = verdictOn(factsOf(peaks, false));
          return [verdict, adviceFor(verdict, "Table microphone")];
        }""",
        peaks,
    )
    assert found[0] == verdict
    assert re.match(r"[A-Z].+[.]$", found[1])
