"""The film as a file: pictures, sound and captions put together, whole or not at all."""

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

import av

from fretwright.base.errors import RenderError, UsageError
from fretwright.film.captions import Cue, web_vtt
from fretwright.film.chapters import chapters
from fretwright.film.encode import FilmFile, Kind, Labels, piece_of
from fretwright.film.painter import Painter
from fretwright.film.scene import Scene
from fretwright.sound.arrays import Samples

Progress = Callable[[int, int], None]
"""Called with how many pictures are done, of how many. What it raises ends the work and leaves no file."""

CAPTION_SUFFIX: Final = ".vtt"
DESCRIPTION_SUFFIX: Final = ".descriptions.vtt"
_STILL_SUFFIX: Final = ".png"


@dataclass(frozen=True, slots=True)
class Film:
    """Everything that goes into a file."""

    scene: Scene
    kind: Kind
    samples: Samples | None
    """Shape (n, 2); sample 0 sounds when the clock says that the sound starts. ``None`` for an overlay."""
    cues: tuple[Cue, ...]
    told: tuple[Cue, ...] = ()
    """The words of the audio description; with them they are written as text, and the voice that follows."""
    described: Samples | None = None
    """The second sound track, from the first picture on; shape (n, 2)."""


def write_film(film: Film, path: Path, progress: Progress = lambda *_: None) -> tuple[Path, ...]:
    """Write a film and, beside it, its captions and descriptions; returns all paths.

    Files appear under their own names when they are whole; whatever stops the work leaves none.
    Raises :class:`~fretwright.base.errors.RenderError` if they cannot be written.
    """
    texts = {path.with_suffix(CAPTION_SUFFIX): film.cues}
    if film.told:
        texts[path.with_suffix(DESCRIPTION_SUFFIX)] = film.told
    # Left in reverse order: texts appear only beside a film that has appeared.
    with ExitStack() as stack:
        for text, cues in texts.items():
            part = stack.enter_context(appearing(text))
            part.write_text(web_vtt(cues), encoding="utf-8", newline="\n")
        _encode(film, stack.enter_context(appearing(path)), progress)
    return path, *texts


def write_still(scene: Scene, path: Path) -> None:
    """Write the picture of the first note as PNG, transparent where an overlay is.

    Raises :class:`~fretwright.base.errors.UsageError` for another suffix, and
    :class:`~fretwright.base.errors.RenderError` if the file cannot be written.
    """
    if path.suffix.lower() != _STILL_SUFFIX:
        raise UsageError(f'"{path.suffix}" is not a kind of still.', "A still is a .png file.")
    moment_s = scene.clock.notes[0].onset_s if scene.clock.notes else scene.clock.music_starts_s
    picture = Painter(scene, "rgba").paint(moment_s).frame()
    encoder = av.CodecContext.create("png", "w")
    encoder.width, encoder.height, encoder.pix_fmt = picture.width, picture.height, "rgba"
    encoder.framerate = Fraction(scene.screen.size.fps)
    packets = [*encoder.encode(picture), *encoder.encode(None)]
    with appearing(path) as file:
        file.write_bytes(b"".join(bytes(packet) for packet in packets))


def _encode(film: Film, path: Path, progress: Progress) -> None:
    scene, size = film.scene, film.scene.screen.size
    labels = Labels(scene.words.title, chapters(scene))
    file = FilmFile(
        path,
        film.kind,
        size,
        labels,
        captions=film.samples is not None and bool(film.cues),
        described=film.described is not None,
    )
    try:
        painter = Painter(scene, film.kind.layout)
        before = round(scene.clock.sound_starts_s * size.fps) * size.samples_per_frame
        waiting = iter(film.cues)
        cue = next(waiting, None)
        total = scene.frame_count
        for number in range(total):
            time_s = scene.time_of(number)
            file.add_picture(painter.paint(time_s).frame(), number)
            if film.samples is not None:
                start = number * size.samples_per_frame
                file.add_sound(piece_of(film.samples, start - before, size.samples_per_frame), start)
            if film.described is not None:
                start = number * size.samples_per_frame
                file.add_description(piece_of(film.described, start, size.samples_per_frame), start)
            while cue is not None and cue.start_s <= time_s:
                file.add_caption(cue)
                cue = next(waiting, None)
            progress(number + 1, total)
        file.finish()
    except BaseException:
        file.abandon()
        raise


@contextmanager
def appearing(path: Path) -> Iterator[Path]:
    """A temporary file beside ``path`` that takes its name if all goes well, and else goes away."""
    try:
        descriptor, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise RenderError(
            f"{path} cannot be written: {error.strerror}.",
            "Choose a folder that exists and can be written to.",
        ) from error
    os.close(descriptor)
    part = Path(name)
    try:
        yield part
        # mkstemp makes the file private; a film must be as readable as any other file.
        part.chmod(0o644)
        part.replace(path)
    except OSError as error:  # those of the encoding library among them
        raise RenderError(
            f"{path} cannot be written: {error.strerror or error}.",
            "See whether the disk is full or the file is open elsewhere.",
        ) from error
    finally:
        part.unlink(missing_ok=True)
