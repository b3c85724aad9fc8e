"""The films of one exercise for the course site, with everything that a page shows of them."""

from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.film.size import film_size
from fretwright.flows.digests import digest, digest_of_score
from fretwright.flows.film import FilmOrder, film, still, words_of
from fretwright.flows.shelf import Shelf
from fretwright.publish.material import FilmFiles

_SIZE: Final = film_size("720p")
"""Sharp on a page, and a third of the work of 1080p."""
_ENDINGS: Final = (".mp4", "-calm.mp4", ".png", ".vtt")
"""The film, the same without movement, its poster and its captions."""


@dataclass(frozen=True, slots=True)
class FilmJob:
    """One exercise to be filmed at its first rung; travels to another process, or to another machine."""

    exercise: Exercise
    checked: Checked

    @property
    def key(self) -> str:
        """Digest of all that is seen and heard."""
        words = words_of(self.checked, self.exercise, self.exercise.ladder.start_bpm)
        score = self.checked.score_of(self.exercise)
        return digest(self.exercise.name, words, digest_of_score(score), self.exercise.shape, _SIZE)

    @property
    def paths(self) -> tuple[str, ...]:
        """The files that are made."""
        return tuple(f"films/{self.exercise.lesson}/{self.exercise.id}{ending}" for ending in _ENDINGS)

    def make(self) -> dict[str, bytes]:
        """Film the exercise twice, the second time for those who ask for less motion: path -> content."""
        moving, calm, poster, captions = self.paths
        with TemporaryDirectory(prefix="fretwright-") as name:
            folder = Path(name)
            order = FilmOrder(self.exercise.name, folder / "film.mp4", _SIZE)
            film(order, self.checked)
            still(FilmOrder(self.exercise.name, folder / "film.png", _SIZE), self.checked)
            film(FilmOrder(self.exercise.name, folder / "calm.mp4", _SIZE, reduced_motion=True), self.checked)
            return {
                moving: (folder / "film.mp4").read_bytes(),
                calm: (folder / "calm.mp4").read_bytes(),
                poster: (folder / "film.png").read_bytes(),
                captions: (folder / "film.vtt").read_bytes(),
            }

    def files(self, shelf: Shelf) -> FilmFiles:
        """What a page shows, read back from the shelf that it was placed on."""
        moving, calm, poster, captions = self.paths
        text = shelf.target(captions).read_text(encoding="utf-8")
        return FilmFiles(moving, calm, poster, captions, text, _SIZE.width, _SIZE.height)
