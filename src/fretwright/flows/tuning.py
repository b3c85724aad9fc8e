"""The sounds of a tuning block, each made once."""

from dataclasses import dataclass

from fretwright.course.model import Lesson, TuningBlock
from fretwright.flows.digests import digest
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.tuning import Tuning
from fretwright.publish.tuning import TONE_SUFFIX, Tone, tones_of
from fretwright.sound.files import encode_audio
from fretwright.sound.tuning_tones import open_string_tone, two_strings


@dataclass(frozen=True, slots=True)
class ToneJob:
    """One sound to tune by; travels to another process."""

    tuning: Tuning
    tone: Tone

    @property
    def key(self) -> str:
        """Digest of all that sounds."""
        return digest(self.tuning, self.tone.string, self.tone.step, self.tone.off_cents)

    @property
    def paths(self) -> tuple[str, ...]:
        """The one file that is made."""
        return (self.tone.path,)

    def make(self) -> dict[str, bytes]:
        """Sound it: path -> content."""
        neck, tone = Neck(self.tuning), self.tone
        if tone.step is None:
            sound = open_string_tone(neck, tone.string)
        else:
            sound = two_strings(neck, tone.step.reference, tone.step.own, tone.off_cents)
        return {tone.path: encode_audio(sound, TONE_SUFFIX)}


def tone_jobs(lessons: tuple[Lesson, ...]) -> list[ToneJob]:
    """The jobs of every tuning block of these lessons."""
    return [job for lesson in lessons for block in lesson.tunings for job in _jobs(block)]


def _jobs(block: TuningBlock) -> list[ToneJob]:
    return [ToneJob(block.tuning, tone) for tone in tones_of(block)]
