"""The player in a real browser: what sounds when, and what is marked while it sounds.

Times are read where they are made: every start that the page asks of Web Audio is recorded with the clock
of its audio context (W3C Web Audio API: `start(when, offset, duration)`), and what the context renders is
checked to the sample in an offline one.
"""

from itertools import pairwise
from typing import Final

import numpy as np
import pytest

from browsing import (
    FADE_IN_FRAMES,
    LESSON,
    RECORDER,
    SLURRED,
    OpenPage,
    Site,
    desk,
    in_frames,
    press_play,
    started,
    until,
    without_count,
)
from fretwright.sound.render import render

# What is marked ------------------------------------------------------------------------------------------

SAMPLER: Final = f"""
(seconds) => new Promise((resolve) => {{
  const samples = [];
  const section = document.querySelector("{SLURRED}");
  const plate = section.querySelector(".copy.wide");
  const from = performance.now();
  const look = () => {{
    const player = Player.active;
    if (player && player.playing) {{
      const marked = [...plate.querySelectorAll("[data-around]")].map((each) => each.dataset.around);
      const clock = Player.clock;
      samples.push({{
        heard: (clock.heardFrame - player.playing.origin) / clock.rate,
        rendered: (clock.context.currentTime * clock.rate - player.playing.origin) / clock.rate,
        latency: clock.context.baseLatency + clock.context.outputLatency,
        marked: [...new Set(marked)], now: performance.now(),
      }});
    }}
    if (performance.now() - from < seconds * 1000) requestAnimationFrame(look);
    else resolve(samples);
  }};
  look();
}})
"""


def test_the_marked_note_is_the_one_that_is_heard(small_site: Site, visit: OpenPage) -> None:
    """Within one frame of the screen, against the time map of the sound as the sound layer renders it."""
    page = visit(small_site, LESSON).page
    without_count(desk(page))
    press_play(desk(page))
    samples = page.evaluate(SAMPLER, 3.6)
    material = small_site.materials["01-stairs/slurred"]
    sound = render(material.score, material.rungs[0].bpm)
    notes = [
        (each.note_id, start := each.onset_s - sound.music_starts_s, start + each.duration_s)
        for each in sound.time_map
    ]
    frame_s = max(b["now"] - a["now"] for a, b in pairwise(samples)) / 1000
    assert len(samples) > 60
    seen = set()
    for sample in samples:
        heard = sample["heard"]
        # The picture may be older than the sound by one frame, and never newer.
        allowed = [
            [note_id for note_id, start, end in notes if start <= moment < end]
            for moment in np.linspace(heard - frame_s - 0.001, heard + 0.001, 12)
        ]
        assert sample["marked"] in allowed, sample
        seen.update(sample["marked"])
        # What is heard lags behind what has been rendered, by no more than the way to the loudspeaker.
        assert -0.001 <= sample["rendered"] - heard <= sample["latency"] + 0.1
    assert seen == {note_id for note_id, start, _ in notes if start < samples[-1]["heard"] - frame_s}


def test_marks_are_shapes_in_staff_and_tab_and_not_colour_alone(small_site: Site, visit: OpenPage) -> None:
    """WCAG 2.2, 1.4.1."""
    page = visit(small_site, LESSON).page
    without_count(desk(page))
    press_play(desk(page))
    page.locator(f"{SLURRED} .copy.wide [data-around]").first.wait_for()
    frames = desk(page).locator(".copy.wide .frames > *")
    kinds = frames.evaluate_all("(all) => all.map((each) => each.tagName)")
    assert sorted(kinds) == ["path", "rect", "rect"]


def test_the_sentence_of_the_sounding_note_is_shown(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON).page
    without_count(desk(page))
    press_play(desk(page))
    until(page, f"document.querySelector('{SLURRED} [data-said]').textContent !== ''")
    sentences = small_site.materials["01-stairs/slurred"].walk_through.sentences
    first = next(each.text for each in sentences if each.note_ids)
    assert desk(page).locator("[data-said]").inner_text() == first


# What sounds ---------------------------------------------------------------------------------------------


def test_each_round_is_booked_exactly_one_round_later(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON, script=RECORDER).page
    section = desk(page)
    without_count(section)
    section.locator("[data-from]").select_option("1")
    section.locator("[data-to]").select_option("1")
    section.locator("[data-click]").check()
    press_play(section)
    until(page, "window.started.filter((each) => !each.isClick).length >= 6")
    music = started(page, clicks=False)
    assert {each["rate"] for each in music} == {48_000}
    frames = in_frames(music)
    # One eighth at 120, filled up to a beat: half a second.
    assert set(np.diff(frames)) == {24_000}
    assert len(set(in_frames(music, "offset"))) == 1
    clicks = in_frames(started(page, clicks=True))
    assert set(np.diff(clicks)) == {24_000}
    assert all(each["when"] > each["at"] for each in music)  # booked before its time, never late


def test_fifty_rounds_do_not_drift(small_site: Site, visit: OpenPage) -> None:
    """Rendered by the page's own clock in an offline context: each click must stand on its very sample."""
    page = visit(small_site, LESSON).page
    found = page.evaluate(
        """async () => {
             const rate = 48000, length = 48000 * 40;
             const context = new OfflineAudioContext(1, length, rate);
             const impulse = context.createBuffer(1, 16, rate);
             impulse.getChannelData(0)[0] = 1;
             const clock = new Clock(context, { plain: impulse, accented: impulse });
             const music = context.createBuffer(1, rate, rate);
             music.getChannelData(0)[7201] = 0.5;
             const round = { startS: 0.15, fileStart: 7200, fileEnd: 7200 + 16001, frames: 37113,
                             notes: [],
                             ticks: [{ frame: 0, bar: 1, beat: 1 }, { frame: 18557, bar: 1, beat: 2 }] };
             const playing = new Playing(clock, music, round, { often: "round", from: 0, countIn: null });
             playing.begin(4800);
             playing.bookUntil(4800 + 50 * round.frames);
             const samples = (await context.startRendering()).getChannelData(0);
             const found = [];
             samples.forEach((sample, at) => { if (Math.abs(sample) > 0.01) found.push([at, sample]); });
             return found;
           }"""
    )
    starts = [4800 + each * 37113 for each in range(50)]
    expected = [frame for start in starts for frame in (start, start + 1, start + 18557)]
    assert [at for at, _ in found] == expected
    heights = [height for _, height in found]
    assert heights == pytest.approx([1, 0.5, 1] * 50, abs=1e-3)


def test_a_round_is_cut_out_of_the_music_without_a_click(small_site: Site, visit: OpenPage) -> None:
    """The audio fades in before the first frame of the part and out after its last."""
    page = visit(small_site, LESSON).page
    samples = page.evaluate(
        """async () => {
             const rate = 48000;
             const context = new OfflineAudioContext(1, rate, rate);
             const silent = context.createBuffer(1, 1, rate);
             const clock = new Clock(context, { plain: silent, accented: silent });
             const music = context.createBuffer(1, rate, rate);
             music.getChannelData(0).fill(1);
             clock.bookSound(music, 10000, 20000, 25000);
             return [...(await context.startRendering()).getChannelData(0)];
           }"""
    )
    sound = np.array(samples)
    assert sound[: 10000 - 192].max() == 0
    assert sound[10000:15000] == pytest.approx(1, abs=1e-3)
    assert sound[15000 + 1440 :].max() == 0
    assert np.abs(np.diff(sound)).max() < 0.01


def test_decoded_audio_starts_where_the_time_map_says(small_site: Site, visit: OpenPage) -> None:
    """The browser's own decoder against the rendered samples: off by one millisecond at most."""
    page = visit(small_site, LESSON).page
    material = small_site.materials["01-stairs/slurred"]
    rung = material.rungs[0]
    decoded = page.evaluate(
        """async ([script, exercise, bpm]) => {
             const rung = await loadRung(script, exercise, bpm);
             const context = new OfflineAudioContext(2, 1, 48000);
             const buffer = await context.decodeAudioData(bytesOf(rung.audio));
             return { samples: [...buffer.getChannelData(0)], rate: buffer.sampleRate, length: rung.length };
           }""",
        [f"../{rung.script}", "01-stairs/slurred", rung.bpm],
    )
    ours = render(material.score, rung.bpm).samples[:, 0].astype(np.float64)
    theirs = np.zeros_like(ours)
    theirs[: min(len(ours), len(decoded["samples"]))] = decoded["samples"][: len(ours)]
    size = 2 * len(ours)
    correlation = np.fft.irfft(np.fft.rfft(ours, size).conj() * np.fft.rfft(theirs, size))
    lag = int(np.argmax(correlation))
    lag -= size if lag > len(ours) else 0
    assert decoded["rate"] == 48_000
    assert abs(lag) <= 48
    assert len(decoded["samples"]) / 48_000 == pytest.approx(decoded["length"], abs=0.02)


def test_the_count_in_leads_to_the_first_note_and_can_be_left_out(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON, script=RECORDER).page
    section = desk(page)
    press_play(section)
    until(page, "window.started.some((each) => !each.isClick)")
    music, clicks = in_frames(started(page, clicks=False)), in_frames(started(page, clicks=True))
    count = [frame for frame in clicks if frame < music[0]]
    assert np.diff(count).tolist() == [24_000] * 3
    assert music[0] + FADE_IN_FRAMES - count[-1] == 24_000
    assert section.locator("[data-where]").inner_text().startswith("Count")
    without_count(section)
    page.evaluate("window.started.length = 0")
    section.locator("[data-from-start]").click()
    until(page, "window.started.some((each) => !each.isClick)")
    assert min(in_frames(started(page, clicks=True))) >= min(in_frames(started(page, clicks=False)))


def test_turns_leave_every_second_round_to_the_student(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON, script=RECORDER).page
    section = desk(page)
    without_count(section)
    section.locator("[data-from]").select_option("0")
    section.locator("[data-to]").select_option("1")
    section.locator("input[value=turns]").check()
    press_play(section)
    until(page, "window.started.filter((each) => !each.isClick).length >= 3")
    music = in_frames(started(page, clicks=False))
    assert set(np.diff(music)) == {48_000}  # one beat that sounds, one that is left
    until(page, f"/your turn/.test(document.querySelector('{SLURRED} [data-where]').textContent)")
    assert section.locator(".copy.wide .frames.yours").count() == 1


def test_level_and_click_are_heard_at_once(small_site: Site, visit: OpenPage) -> None:
    page = visit(small_site, LESSON).page
    section = desk(page)
    without_count(section)
    press_play(section)
    page.wait_for_timeout(200)
    gains = "() => [Player.clock.master.gain.value, Player.clock.clickLevel.gain.value]"
    assert page.evaluate(gains) == pytest.approx([0.25, 0.0], abs=0.01)
    section.locator("[data-level]").fill("100")
    section.locator("[data-click]").check()
    page.wait_for_timeout(300)
    assert page.evaluate(gains) == pytest.approx([1.0, 1.0], abs=0.01)
