"""One rung as a script: true to the score and to the audio it carries."""

import base64
import io
import json
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
import soundfile

from fretwright.base.errors import RenderError
from fretwright.publish.material import ExerciseMaterial
from fretwright.publish.sound_script import AUDIO_SUFFIX, clicks_script, sound_script
from fretwright.score.timeline import timeline
from fretwright.sound.files import encode_audio
from fretwright.sound.render import Sound, click_sound, render

BPM = 90


@pytest.fixture(scope="module")
def material(materials: Mapping[str, ExerciseMaterial]) -> ExerciseMaterial:
    return materials["02-lamp/last-line"]


@pytest.fixture(scope="module")
def sound(material: ExerciseMaterial) -> Sound:
    return render(material.score, BPM)


@pytest.fixture(scope="module")
def script(material: ExerciseMaterial, sound: Sound) -> bytes:
    return sound_script("02-lamp/last-line", BPM, material.score, sound, encode_audio(sound, AUDIO_SUFFIX))


def delivered(script: bytes, receiver: str) -> dict[str, Any]:
    text = script.decode("ascii")
    start = f"fretwright.{receiver}("
    assert text.startswith(start)
    assert text.endswith(");\n")
    value: dict[str, Any] = json.loads(text[len(start) : -3])
    return value


def test_notes_bars_and_beats_stand_on_the_clock_of_the_audio(
    material: ExerciseMaterial, sound: Sound, script: bytes
) -> None:
    rung = delivered(script, "deliverRung")
    played = timeline(material.score, BPM)
    assert rung["bpm"] == BPM
    assert rung["exercise"] == "02-lamp/last-line"
    assert [each[0] for each in rung["notes"]] == [timed.note.id for timed in played.notes]
    onsets = [sound.music_starts_s + timed.onset_s for timed in played.notes]
    assert [each[1] for each in rung["notes"]] == pytest.approx(onsets, abs=0.5 / sound.rate_hz + 1e-7)
    # Quarter notes at 90: two thirds of a second each, four to the bar, the last bar one whole note.
    start = sound.music_starts_s
    assert [beat for _, beat in rung["beats"]] == [1, 2, 3, 4, 1, 2, 3, 4]
    assert [time for time, _ in rung["beats"]] == pytest.approx(
        [start + k * 2 / 3 for k in range(8)], abs=1e-6
    )
    assert rung["bars"] == [
        [pytest.approx(start), 1, 4, pytest.approx(2 / 3)],
        [pytest.approx(start + 8 / 3), 2, 4, pytest.approx(2 / 3)],
    ]
    assert rung["ends"] - rung["starts"] == pytest.approx(16 / 3, abs=1e-4)
    assert rung["length"] == pytest.approx(sound.duration_s, abs=1e-6)


def test_the_audio_is_the_sound_and_starts_where_the_map_says(sound: Sound, script: bytes) -> None:
    """Decoded by libsndfile, which is not the library that encoded it."""
    audio = base64.b64decode(delivered(script, "deliverRung")["audio"])
    samples, rate = soundfile.read(io.BytesIO(audio), dtype="float64")
    assert rate == sound.rate_hz
    assert abs(len(samples) - len(sound.samples)) <= 960  # one Opus frame
    ours = sound.samples[:, 0].astype(np.float64)
    theirs = np.zeros_like(ours)
    theirs[: min(len(ours), len(samples))] = samples[: len(ours), 0]
    spectrum = np.fft.rfft(ours, 2 * len(ours)).conj() * np.fft.rfft(theirs, 2 * len(ours))
    lag = int(np.argmax(np.fft.irfft(spectrum)))
    lag -= 2 * len(ours) if lag > len(ours) else 0
    assert abs(lag) <= 48  # one millisecond


def test_a_sound_of_another_score_is_refused(
    material: ExerciseMaterial, materials: Mapping[str, ExerciseMaterial]
) -> None:
    other = render(materials["01-stairs/slurred"].score, 120)
    with pytest.raises(RenderError, match="does not belong"):
        sound_script("02-lamp/last-line", BPM, material.score, other, b"")


def test_clicks_are_the_clicks_of_every_other_product() -> None:
    clicks = delivered(clicks_script(), "deliverClicks")
    for name, accented in (("plain", False), ("accented", True)):
        samples = np.frombuffer(base64.b64decode(clicks[name]), dtype="<i2") / 32767
        assert samples == pytest.approx(click_sound(accented=accented).samples[:, 0], abs=1e-4)
