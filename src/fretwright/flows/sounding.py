"""One rung of one exercise, sounded and wrapped for the page."""

from dataclasses import dataclass
from typing import Final

from fretwright.course.model import Exercise
from fretwright.flows.digests import digest, digest_of_score
from fretwright.publish.material import Rung
from fretwright.publish.sound_script import AUDIO_SUFFIX, sound_script
from fretwright.score.score import Score
from fretwright.sound.files import encode_audio
from fretwright.sound.render import render_bare_and_counted

_PLAIN_SUFFIX: Final = ".m4a"
"""Any player plays AAC in MP4."""


@dataclass(frozen=True, slots=True)
class SoundJob:
    """One exercise at one tempo; travels to another process."""

    lesson: str
    exercise: str
    score: Score
    bpm: int

    @classmethod
    def of(cls, exercise: Exercise, score: Score, bpm: int) -> "SoundJob":
        """The job of one rung of an exercise with its fingered score."""
        return cls(exercise.lesson, exercise.id, score, bpm)

    @property
    def key(self) -> str:
        """Digest of all that sounds."""
        return digest(self.exercise, self.lesson, digest_of_score(self.score), self.bpm)

    @property
    def rung(self) -> Rung:
        """The rung with its files."""
        stem = f"sounds/{self.lesson}/{self.exercise}-{self.bpm}"
        return Rung(bpm=self.bpm, script=f"{stem}.js", audio=f"{stem}{_PLAIN_SUFFIX}")

    @property
    def paths(self) -> tuple[str, ...]:
        """The files that are made."""
        return (self.rung.script, self.rung.audio)

    def make(self) -> dict[str, bytes]:
        """Sound the rung: path -> content.

        The page's script holds the notes alone, since the player adds count-in and clicks; the plain
        file has a count-in, for those who play it on anything else. It has one channel: what the room adds on
        either side of one guitar is not worth half as much again of a site's size and of a build's time.
        """
        bare, counted = render_bare_and_counted(self.score, self.bpm)
        opus = encode_audio(bare, AUDIO_SUFFIX)
        name = f"{self.lesson}/{self.exercise}"
        return {
            self.rung.script: sound_script(name, self.bpm, self.score, bare, opus),
            self.rung.audio: encode_audio(counted, _PLAIN_SUFFIX, channels=1),
        }
