"""The arithmetic of the player against the score layer's own: the same beats, counted in two languages.

The page's scripts are loaded into an otherwise empty page, and asked for rounds of scores that are
awkward on purpose: a pickup, compound time, repeats with endings, swing.
"""

import json
from collections.abc import Iterator
from dataclasses import replace
from importlib.resources import files
from itertools import pairwise
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, Page

from fretwright.fretboard.neck import Neck, Place
from fretwright.publish.sound_script import sound_script
from fretwright.score.assemble import BarOfEvents, Event, Head, Heading, assemble
from fretwright.score.meter import COMMON_TIME, Meter
from fretwright.score.score import Score
from fretwright.score.swing import SHUFFLE
from fretwright.score.tempo import TempoMap
from fretwright.score.timeline import timeline
from fretwright.score.values import EIGHTH, QUARTER, Value
from fretwright.sound.render import LEAD_S, Sound, _count_in, render
from fretwright.theory.key import Key
from fretwright.theory.pitch import Pitch

RATE: Final = 48_000
"""Frames a second, as all our sounds have."""
BPM: Final = 97
"""A tempo whose beat is no whole number of frames."""


@pytest.fixture(scope="module")
def page(chromium: Browser) -> Iterator[Page]:
    page = chromium.new_page()
    for name in ("delivery", "rounds"):
        source = files("fretwright.publish") / "assets" / "js" / f"{name}.js"
        page.add_script_tag(content=source.read_text(encoding="utf-8"))
    yield page
    page.close()


def bar(*values: Value, meter: Meter = COMMON_TIME, **signs: Any) -> BarOfEvents:  # noqa: ANN401
    head = Head(Place(3, 5), Pitch.parse("C4"))
    return BarOfEvents(tuple(Event(value, (head,)) for value in values), meter, **signs)


def score_of(*bars: BarOfEvents) -> Score:
    meter = bars[-1].meter
    return assemble(Heading("odd", "Odd", Neck(), Key(0), TempoMap.constant(BPM, meter.beat)), bars)


SIX_EIGHT = Meter(6, 8)
SCORES: Final = {
    "plain": score_of(bar(*[EIGHTH] * 8), bar(QUARTER, EIGHTH, EIGHTH, QUARTER, QUARTER)),
    "pickup of a beat": score_of(
        bar(EIGHTH, EIGHTH, is_pickup=True), bar(*[QUARTER] * 4), bar(*[QUARTER] * 3)
    ),
    "pickup of an eighth": score_of(bar(EIGHTH, is_pickup=True), bar(*[QUARTER] * 4), bar(*[EIGHTH] * 8)),
    "compound": score_of(bar(*[EIGHTH] * 6, meter=SIX_EIGHT), bar(*[EIGHTH] * 6, meter=SIX_EIGHT)),
    "endings": score_of(
        bar(*[QUARTER] * 4, opens_repeat=True),
        bar(*[QUARTER] * 4, endings=(1,), closes_repeat=2),
        bar(*[EIGHTH] * 8, endings=(2,)),
    ),
    "shuffle": replace(score_of(bar(*[EIGHTH] * 8), bar(*[EIGHTH] * 8)), swing=SHUFFLE),
}


@pytest.fixture(scope="module")
def sounds() -> dict[str, Sound]:
    return {name: render(score) for name, score in SCORES.items()}


@pytest.fixture(params=SCORES)
def case(request: pytest.FixtureRequest, sounds: dict[str, Sound]) -> tuple[Score, Sound, dict[str, Any]]:
    """A score, its sound, and the rung as the page gets it."""
    score, sound = SCORES[request.param], sounds[request.param]
    script = sound_script("a/odd", BPM, score, sound, b"").decode()
    return score, sound, json.loads(script[script.index("(") + 1 : script.rindex(")")])


Case = tuple[Score, Sound, dict[str, Any]]


def test_the_whole_exercise_has_the_beats_of_its_score(page: Page, case: Case) -> None:
    score, _, rung = case
    whole = page.evaluate(f"(rung) => planRound(rung, stretchOf(rung, null, null), {RATE})", rung)
    played = timeline(score)
    beats = [round(beat.time_s * RATE) for beat in played.beats]
    ticks = [tick["frame"] for tick in whole["ticks"]]
    assert ticks[: len(beats)] == pytest.approx(beats, abs=1)
    assert [tick["beat"] for tick in whole["ticks"]][: len(beats)] == [beat.beat for beat in played.beats]
    assert [tick["bar"] for tick in whole["ticks"]][: len(beats)] == [
        beat.bar_number for beat in played.beats
    ]
    onsets = [round(timed.onset_s * RATE) for timed in played.notes]
    assert [note["from"] for note in whole["notes"]] == pytest.approx(onsets, abs=1)
    assert whole["frames"] >= round(played.length_s * RATE)


def test_the_count_in_is_that_of_the_rendered_sound(page: Page, case: Case) -> None:
    score, sound, rung = case
    count = page.evaluate(f"(rung) => countInTo(rung, rung.starts, {RATE})", rung)
    ticks = _count_in(score, BPM)
    length_s = ticks[-1].until_s
    assert sound.music_starts_s == pytest.approx(LEAD_S)
    assert count["frames"] == pytest.approx(length_s * RATE, abs=1)
    expected = [(tick.time_s - length_s) * RATE for tick in ticks]
    assert [tick["frame"] for tick in count["ticks"]] == pytest.approx(expected, abs=1)
    assert [tick["beat"] == 1 for tick in count["ticks"]] == [tick.accented for tick in ticks]


def test_every_part_goes_round_in_an_unbroken_pulse(page: Page, case: Case) -> None:
    """All parts from any note to any later one."""
    _, sound, rung = case
    rounds = page.evaluate(
        f"""(rung) => rung.notes.flatMap(([first], from) => rung.notes.slice(from).map(([last]) =>
              ({{first, last, ...planRound(rung, stretchOf(rung, first, last), {RATE})}})))""",
        rung,
    )
    beat_frames = rung["bars"][0][3] * RATE
    first_onset = {note_id: onset for note_id, onset, _ in reversed(rung["notes"])}
    for each in rounds:
        assert each["fileStart"] == round(first_onset[each["first"]] * RATE)
        beats = each["frames"] / beat_frames
        assert beats == pytest.approx(round(beats), abs=1e-3)
        assert beats >= 1
        assert each["notes"][0] == {**each["notes"][0], "id": each["first"], "from": 0}
        assert each["notes"][-1]["to"] <= each["frames"]
        ticks = [tick["frame"] for tick in each["ticks"]]
        assert len(ticks) == round(beats)
        # From the last beat of one round to the first of the next it is one beat, as between any others.
        for sooner, later in pairwise([*ticks, each["frames"] + ticks[0]]):
            assert later - sooner == pytest.approx(beat_frames, abs=2)
        assert each["fileEnd"] <= len(sound.samples)


def test_a_count_leads_into_the_pulse_of_any_place(page: Page, case: Case) -> None:
    _, _, rung = case
    counts = page.evaluate(
        f"(rung) => rung.notes.map(([id, onset]) => [onset, countInTo(rung, onset, {RATE})])", rung
    )
    for onset, count in counts:
        at = max(at for at, each in enumerate(rung["bars"]) if each[0] <= onset + 1e-5)
        start, number, beats, beat_s = rung["bars"][at]
        missing_s = rung["bars"][at + 1][0] - start if number == 0 else 0.0
        inside_s = onset - start + (beats * beat_s - missing_s if number == 0 else 0.0)
        assert count["frames"] == pytest.approx((beats * beat_s + inside_s) * RATE, abs=2)
        ticks = [tick["frame"] for tick in count["ticks"]]
        assert all(b - a == pytest.approx(beat_s * RATE, abs=1) for a, b in pairwise(ticks))
        assert count["ticks"][0]["beat"] == 1
        assert ticks[-1] < 0


def test_a_part_may_end_under_a_later_ending(page: Page, sounds: dict[str, Sound]) -> None:
    score = SCORES["endings"]
    script = sound_script("a/odd", BPM, score, sounds["endings"], b"").decode()
    rung = json.loads(script[script.index("(") + 1 : script.rindex(")")])
    first = score.notes[0].id
    last = next(note.id for note in score.notes if score.bar_at(note.onset).endings == (2,))
    part = page.evaluate(
        f"([rung, first, last]) => planRound(rung, stretchOf(rung, first, last), {RATE})", [rung, first, last]
    )
    # Bars 1, first ending, 1 again, and one eighth of the second ending, filled up to a beat.
    assert part["frames"] == pytest.approx(13 * 60 / BPM * RATE, abs=2)
