"""A recording with its overlay as a file: burned in, or the overlay alone, as long as the recording.

A described film is a second one, longer by the pauses in which it is told what is about to be played.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Final, TypeVar

import av

from fretwright.base.errors import RenderError
from fretwright.film.canvas import Canvas
from fretwright.film.captions import Cue, web_vtt
from fretwright.film.chapters import Chapter
from fretwright.film.encode import FilmFile, Kind, Labels
from fretwright.film.footage import Footage, pictures, sound
from fretwright.film.over import Overlay, Showing
from fretwright.film.pauses import Pauses
from fretwright.film.size import FilmSize
from fretwright.film.write import CAPTION_SUFFIX, DESCRIPTION_SUFFIX, Progress, appearing
from fretwright.sound.arrays import Samples

DESCRIBED_SUFFIX: Final = ".described.mp4"
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
    told: tuple[Cue, ...] = ()
    """The words of the audio description, at the times of the recording."""
    pauses: Pauses | None = None
    """Where they are spoken, in a second film that stands still meanwhile."""

    @property
    def count(self) -> int:
        """Pictures in the whole film, without pauses."""
        return self.footage.picture_count


def write_over(film: OverFilm, path: Path, progress: Progress = lambda *_: None) -> tuple[Path, ...]:
    """Write the film and, beside it, its captions and what describes it; returns all paths, the film's first.

    Files appear under their own names when they are whole; whatever stops the work leaves none. Raises
    :class:`~fretwright.base.errors.RenderError` if they cannot be written, or the recording ends in damage.
    """
    texts = {path.with_suffix(CAPTION_SUFFIX): film.cues}
    if film.told:
        texts[path.with_suffix(DESCRIPTION_SUFFIX)] = film.told
    films = {path: Pauses(film.footage.rate)}
    if film.pauses is not None:
        films[path.with_suffix(DESCRIBED_SUFFIX)] = film.pauses
    total = sum(film.count + pauses.pictures for pauses in films.values())
    done = 0
    # Left in reverse order: what stands beside a film appears only when the film has appeared.
    with ExitStack() as stack:
        for text, cues in texts.items():
            part = stack.enter_context(appearing(text))
            part.write_text(web_vtt(cues), encoding="utf-8", newline="\n")
        for name, pauses in reversed(films.items()):
            part = stack.enter_context(appearing(name))
            done += _encode(film, pauses, part, partial(_tell, progress, done, total))
    return *films, *texts


def _tell(progress: Progress, before: int, total: int, done: int) -> None:
    progress(before + done, total)


Done = Callable[[int], None]
"""Called with how many pictures of one film are done."""


def _encode(film: OverFilm, pauses: Pauses, path: Path, done: Done) -> int:
    """One film; returns how many pictures it has."""
    burned = film.kind.has_sound
    film = replace(film, cues=pauses.cues(film.cues), chapters=pauses.chapters(film.chapters))
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
        count = _fill(film, pauses, file, done)
        file.finish()
    except BaseException:
        file.abandon()
        raise
    return count


def _fill(film: OverFilm, pauses: Pauses, file: FilmFile, done: Done) -> int:
    rate, burned = film.footage.rate, film.kind.has_sound
    heard = _readable(sound(film.footage)) if burned and film.footage.has_sound else iter(())
    pieces = pauses.sound(_until(heard, float(film.count / rate)))
    piece = next(pieces, None)
    waiting = iter(film.cues)
    cue = next(waiting, None)
    number = 0
    for canvas, times in _shown(film, pauses):
        for _ in range(times):
            time_s = float(number / rate)
            file.add_picture(canvas.frame(), number)
            while piece is not None and piece[0] <= time_s * _SOUND_RATE:
                file.add_sound(piece[1], piece[0])
                piece = next(pieces, None)
            while cue is not None and cue.start_s <= time_s:
                file.add_caption(cue)
                cue = next(waiting, None)
            number += 1
            done(number)
    while piece is not None:
        file.add_sound(piece[1], piece[0])
        piece = next(pieces, None)
    return number


def _shown(film: OverFilm, pauses: Pauses) -> Iterator[tuple[Canvas, int]]:
    """Every picture and how often it is shown."""
    overlay = Overlay(film.cards, film.size.width, film.size.height, film.kind.layout)
    planes = _readable(pictures(film.footage)) if film.kind.has_sound else None
    for number in range(film.count):
        time_s = float(number / film.footage.rate)
        if planes is None:
            yield overlay.alone(time_s), 1
            continue
        picture = next(planes, None)
        if picture is None:
            return
        yield overlay.over(picture, time_s), 1 + pauses.after(number)


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
