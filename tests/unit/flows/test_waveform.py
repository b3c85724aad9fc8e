"""The waveform of a take."""

import re

import numpy as np
import pytest
from lxml import etree

from fretwright.ear.take import RATE_HZ, Take
from fretwright.ear.verdicts import Advice, HeardNote, Hearing, Verdict
from fretwright.flows.waveform import COLUMNS, WIDTH_MM, heights, waveform


def take(length_s: float = 2.0) -> Take:
    """Silence, and a full tone in the second half."""
    time_s = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    tone = 0.5 * np.sin(2 * np.pi * 220 * time_s)
    return Take(np.where(time_s < length_s / 2, 0.0, tone).astype(np.float32))


def hearing(*notes: HeardNote) -> Hearing:
    return Hearing(60, 0, 0, 0, (), notes, (), 0, 0, 0, Advice("Fine.", (), 60, "Go on."))


def test_columns_are_as_high_as_their_loudest_sample() -> None:
    found = heights(take())

    assert len(found) == COLUMNS
    assert found[: COLUMNS // 2] == [0.0] * (COLUMNS // 2)
    assert min(found[COLUMNS // 2 :]) > 0.9
    assert max(found) == 1.0


def test_hiss_is_not_drawn_as_music(rng: np.random.Generator) -> None:
    hiss = Take((0.001 * rng.uniform(-1, 1, RATE_HZ)).astype(np.float32))

    assert max(heights(hiss)) < 0.06


@pytest.mark.parametrize("samples", [1, 10, COLUMNS - 1])
def test_a_take_shorter_than_the_picture_is_drawn(samples: int) -> None:
    assert len(heights(Take(np.ones(samples, np.float32)))) == COLUMNS


def test_each_note_stands_at_its_moment_with_its_shape() -> None:
    found = waveform(
        take(),
        hearing(
            HeardNote("b1t0s6", Verdict.PLAYED, 1.0, onset_s=0.5),
            HeardNote("b1t1-8s6", Verdict.MISSED, 1.0),
            HeardNote("b1t1-4s6", Verdict.WRONG, 1.0, onset_s=1.5),
        ),
        title="Night & watch",
    )

    root = etree.fromstring(found.svg)
    space = {"s": "http://www.w3.org/2000/svg"}
    onsets = root.findall(".//s:g[@class='onset']", space)
    assert [(each.get("data-place"), each.get("data-note")) for each in onsets] == [
        ("0", "b1t0s6"),
        ("2", "b1t1-4s6"),
    ]
    lefts = [
        float(re.match(r"M([\d.]+)", str(each.find("s:path", space).get("d")))[1])  # type: ignore[index]  # matches
        for each in onsets
    ]
    assert lefts == pytest.approx([WIDTH_MM / 4, 3 * WIDTH_MM / 4], abs=0.01)
    assert [len(each) for each in onsets] == [1, 2]
    assert root.findtext("s:title", namespaces=space) == "Night & watch: 2.0 seconds"
    assert "style=" not in found.svg  # no page would let it through


def test_a_take_that_was_not_judged_has_a_wave_alone() -> None:
    assert 'class="onset"' not in waveform(take(), None, title="A").svg
