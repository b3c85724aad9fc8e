"""Sound as a script: what a page needs to play one rung exactly, loadable from a folder.

A page opened from a folder may not fetch a file, but it may add a script element. So each rung's audio
travels as a classic script that delivers one object: the audio in base64 and, on the same clock, when
each note sounds, when each bar and beat begins. All times are seconds from the first sample; 7 decimals
keep them far below one sample.
"""

import base64
import json
from fractions import Fraction
from typing import Final

from fretwright.base.errors import RenderError
from fretwright.score.score import Bar, Score
from fretwright.score.timeline import timeline
from fretwright.sound.render import Sound, click_sound

AUDIO_SUFFIX: Final = ".opus"
"""Suffix of the format that goes into the scripts: Opus in Ogg (RFC 7845), which states its own delay."""
_DECIMALS: Final = 7


def sound_script(exercise: str, bpm: int, score: Score, sound: Sound, audio: bytes) -> bytes:
    """The script that delivers one rung of ``exercise`` (``lesson/exercise``).

    ``sound`` is the exercise at ``bpm`` without count-in and click, which the player adds itself, and
    ``audio`` the same sound as an Opus file. Raises :class:`~fretwright.base.errors.RenderError` if the
    sound and the score disagree on how often notes sound.
    """
    performance = timeline(score, bpm)
    if len(sound.time_map) != len(performance.notes):
        raise RenderError(f"the sound of {exercise!r} at {bpm} does not belong to its score")
    starts_s = sound.music_starts_s
    rung = {
        "exercise": exercise,
        "bpm": bpm,
        "starts": _seconds(starts_s),
        "ends": _seconds(sound.music_ends_s),
        "length": _seconds(sound.duration_s),
        "notes": [
            [note.note_id, _seconds(note.onset_s), _seconds(note.duration_s)] for note in sound.time_map
        ],
        "bars": [
            [
                _seconds(starts_s + bar_s),
                played.bar.number,
                played.bar.meter.beats,
                _seconds(_beat_seconds(score, bpm, played.bar)),
            ]
            for bar_s, played in performance.bars
        ],
        "beats": [[_seconds(starts_s + beat.time_s), beat.beat] for beat in performance.beats],
        "audio": base64.b64encode(audio).decode("ascii"),
    }
    return _script("deliverRung", rung)


def clicks_script() -> bytes:
    """The script that delivers the two clicks as 16-bit samples at 48 kHz, one channel."""
    clicks = {
        name: base64.b64encode(_pcm(click_sound(accented=accented))).decode("ascii")
        for name, accented in (("plain", False), ("accented", True))
    }
    return _script("deliverClicks", clicks)


def _pcm(sound: Sound) -> bytes:
    return (sound.samples[:, 0] * 32767).round().astype("<i2").tobytes()


def _script(receiver: str, value: object) -> bytes:
    text = json.dumps(value, ensure_ascii=True, separators=(",", ":"))
    return f"fretwright.{receiver}({text});\n".encode("ascii")


def _beat_seconds(score: Score, bpm: int, bar: Bar) -> float:
    """How long the first beat of a bar lasts."""
    return score.tempo.at_start(bpm).seconds_between(bar.start, bar.start + Fraction(bar.meter.beat))


def _seconds(value: float) -> float:
    return round(value, _DECIMALS)
