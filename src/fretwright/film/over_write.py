"""A recording with its overlay as a file: burned in, or the overlay alone, as long as the recording."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeVar

import av

from fretwright.base.errors import RenderError
from fretwright.film.captions import Cue, web_vtt
from fretwright.film.chapters import Chapter
from fretwright.film.encode import FilmFile, Kind, Labels
from fretwright.film.footage import Footage, pictures, sound
from fretwright.film.over import Overlay, Showing
from fretwright.film.size import FilmSize
from fretwright.film.write import CAPTION_SUFFIX, Progress, appearing
from fretwright.sound.arrays import Samples

_SOUND_RATE: Final = 48_000
Piece = TypeVar("Piece")


@dataclass(frozen=True, slots=True)
class OverFilm:
    """Everything that goes into the file."""

    footage: Footage
    kind: Kind
    """One without sound is the overlay alone."""
    size: FilmSize
    cards: tuple[Showing, ...]
    cues: tuple[Cue, ...]
    chapters: tuple[Chapter, ...]
    title: str

    @property
    def count(self) -> int:
        """Pictures in the whole film."""
        return self.footage.picture_count


def write_over(film: OverFilm, path: Path, progress: Progress = lambda *_: None) -> tuple[Path, Path]:
    """Write the film and, beside it, its captions; returns both paths.

    Files appear under their own names when they are whole; whatever stops the work leaves none. Raises
    :class:`~fretwright.base.errors.RenderError` if they cannot be written, or the recording ends in damage.
    """
    captions = path.with_suffix(CAPTION_SUFFIX)
    with appearing(captions) as words, appearing(path) as picture:
        words.write_text(web_vtt(film.cues), encoding="utf-8", newline="\n")
        _encode(film, picture, progress)
    return path, captions


def _encode(film: OverFilm, path: Path, progress: Progress) -> None:
    burned = film.kind.has_sound
    file = FilmFile(
        path,
        film.kind,
        film.size,
        Labels(film.title, film.chapters),
        captions=burned and bool(film.cues),
        rate=film.footage.rate,
        sound=film.footage.has_sound,
    )
    try:
        _fill(film, file, progress)
        file.finish()
    except BaseException:
        file.abandon()
        raise


def _fill(film: OverFilm, file: FilmFile, progress: Progress) -> None:
    rate, burned = film.footage.rate, film.kind.has_sound
    overlay = Overlay(film.cards, film.size.width, film.size.height, film.kind.layout)
    shown = _readable(pictures(film.footage)) if burned else iter(())
    heard = _readable(sound(film.footage)) if burned and film.footage.has_sound else iter(())
    pieces = _until(heard, float(film.count / rate))
    piece = next(pieces, None)
    waiting = iter(film.cues)
    cue = next(waiting, None)
    for number in range(film.count):
        time_s = float(number / rate)
        if burned:
            planes = next(shown, None)
            if planes is None:
                break
            canvas = overlay.over(planes, time_s)
        else:
            canvas = overlay.alone(time_s)
        file.add_picture(canvas.frame(), number)
        while piece is not None and piece[0] <= time_s * _SOUND_RATE:
            file.add_sound(piece[1], piece[0])
            piece = next(pieces, None)
        while cue is not None and cue.start_s <= time_s:
            file.add_caption(cue)
            cue = next(waiting, None)
        progress(number + 1, film.count)
    while piece is not None:
        file.add_sound(piece[1], piece[0])
        piece = next(pieces, None)


def _until(pieces: Iterator[tuple[int, Samples]], end_s: float) -> Iterator[tuple[int, Samples]]:
    """The sound up to the end of the last picture."""
    end = round(end_s * _SOUND_RATE)
    for start, samples in pieces:
        if start >= end:
            return
        yield start, samples[: end - start]


def _readable(source: Iterator[Piece]) -> Iterator[Piece]:
    """The same, with the recording's own faults told apart from those of writing."""
    try:
        yield from source
    except av.FFmpegError as error:
        raise RenderError(
            f"The recording is damaged and cannot be read to its end: {error.strerror}.",
            "Copy it from the camera again.",
        ) from error
