"""The film of one exercise, or the films of a lesson: score, plate, sound and words put on a screen."""

from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from fretwright.base.errors import RenderError, UsageError
from fretwright.check.check import Checked
from fretwright.course.model import Exercise
from fretwright.engrave.diagram import Diagram, fretboard_diagram
from fretwright.engrave.walkthrough import Sentence, walk_through
from fretwright.film.captions import captions, descriptions
from fretwright.film.clock import Clock, clock_of
from fretwright.film.describe import spoken_over
from fretwright.film.encode import kind_of
from fretwright.film.held import Held, held_in
from fretwright.film.layout import screen_of
from fretwright.film.scene import Scene, Words, scene_of
from fretwright.film.size import FilmSize
from fretwright.film.speech import voice
from fretwright.film.write import Film, Progress, appearing, write_film, write_still
from fretwright.flows.clustering import spread
from fretwright.flows.reading import require_lesson
from fretwright.score.score import Score
from fretwright.score.tempo import FASTEST_BPM, SLOWEST_BPM
from fretwright.sound.render import SoundOptions, render

TITLE_S: Final = 3.0
"""How long the title stands: long enough to be read twice."""
_CHORDS, _CARD_CHORDS = 4, 2
"""Chord diagrams in a row, under a complete film's plate and beside that of an overlay."""


@dataclass(frozen=True, slots=True)
class FilmOrder:
    """What is asked for."""

    exercise: str
    """``lesson/exercise``."""
    out: Path
    """The file; for a whole lesson, the folder."""
    size: FilmSize
    bpm: float | None = None
    """Beats a minute; the ladder's first rung by default."""
    overlay: bool = False
    fretboard: bool = True
    reduced_motion: bool = False
    click: bool = False
    """A click on every beat of the music, not of the count-in alone."""
    prores: bool = False
    described: bool = False
    """With an audio description: as text, and spoken where a synthesiser is installed."""


def film(order: FilmOrder, checked: Checked, progress: Progress = lambda *_: None) -> tuple[Path, ...]:
    """Make the film and its captions; returns the files.

    Raises :class:`~fretwright.base.errors.UsageError` if the course has no such exercise or the file's
    suffix is that of no film, and :class:`~fretwright.base.errors.RenderError` if it cannot be written.
    """
    kind = kind_of(order.out.suffix, overlay=order.overlay, prores=order.prores)
    exercise = checked.course.exercise(order.exercise)
    scene = _scene(order, checked, exercise)
    samples = None
    if not order.overlay:
        samples = render(
            scene.score, scene.clock.bpm, options=SoundOptions(count_in=True, click=order.click)
        ).samples
    sentences = _sentences(scene)
    told = descriptions(sentences, scene.clock) if order.described else ()
    spoken = None
    if told and samples is not None and voice() is not None:
        length_s = scene.frame_count / order.size.fps
        spoken = spoken_over(samples, scene.clock.sound_starts_s, told, length_s)
    made = Film(scene, kind, samples, captions(scene.score, sentences, scene.clock), told, spoken)
    return write_film(made, order.out, progress)


def _sentences(scene: Scene) -> tuple[Sentence, ...]:
    """The walk-through, with the tempo of the film and not that of the text."""
    score = scene.score
    return walk_through(replace(score, tempo=score.tempo.at_start(scene.clock.bpm))).sentences


def film_lesson(
    order: FilmOrder, lesson: str, checked: Checked, progress: Progress, cluster: str | None = None
) -> tuple[Path, ...]:
    """Film every exercise of a lesson, as many at a time as there are cores, into the folder ``order.out``.

    On a Dask cluster, where one is named (``tcp://host:port``), as many as it has threads. ``progress``
    counts films. A film that is done stays when another fails. Returns them in reading order.

    Raises :class:`~fretwright.base.errors.UsageError` if there is no such lesson,
    :class:`~fretwright.base.errors.RenderError` if the folder or a film cannot be written.
    """
    require_lesson(checked, lesson)
    try:
        order.out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RenderError(f"{order.out} cannot be made: {error.strerror}.", "Name a folder.") from error
    suffix = ".mp4" if not order.overlay else ".mov" if order.prores else ".webm"
    names = [each.id for each in checked.course.exercises if each.lesson == lesson]
    jobs = [
        (replace(order, exercise=f"{lesson}/{name}", out=order.out / f"{name}{suffix}"), checked)
        for name in names
    ]
    progress(0, len(jobs))
    for done, ((made, _), files) in enumerate(spread(_film_job, jobs, cluster), start=1):
        for name, content in files.items():
            with appearing(made.out.with_name(name)) as part:
                part.write_bytes(content)
        progress(done, len(jobs))
    return tuple(job.out for job, _ in jobs)


def _film_job(job: tuple[FilmOrder, Checked]) -> dict[str, bytes]:
    """A film and its texts by file name; made wherever the job runs, in a folder that goes away."""
    order, checked = job
    with TemporaryDirectory(prefix="fretwright-") as name:
        made = film(replace(order, out=Path(name) / order.out.name), checked)
        return {path.name: path.read_bytes() for path in made}


def still(order: FilmOrder, checked: Checked) -> None:
    """Make the one picture of the film in which the first note sounds. Raises as :func:`film`."""
    exercise = checked.course.exercise(order.exercise)
    write_still(_scene(order, checked, exercise), order.out)


def _scene(order: FilmOrder, checked: Checked, exercise: Exercise) -> Scene:
    score = checked.score_of(exercise)
    clock = _clock(order, exercise, score)
    screen = screen_of(order.size, overlay=order.overlay, fretboard=order.fretboard)
    return scene_of(
        score,
        clock,
        screen,
        words_of(checked, exercise, clock.bpm),
        hand_of(exercise, score, overlay=order.overlay) if order.fretboard else None,
        reduced_motion=order.reduced_motion,
    )


def _clock(order: FilmOrder, exercise: Exercise, score: Score) -> Clock:
    bpm = order.bpm or exercise.ladder.start_bpm
    if not SLOWEST_BPM <= bpm <= FASTEST_BPM:
        raise UsageError(
            f"{bpm:g} beats a minute cannot be played.", f"Use {SLOWEST_BPM:g} to {FASTEST_BPM:g}."
        )
    clock = clock_of(score, bpm)
    # A whole number of pictures, so that sound and picture start on the same grid.
    title_s = 0.0 if order.overlay else round(TITLE_S * order.size.fps) / order.size.fps
    return clock.later(title_s)


def words_of(checked: Checked, exercise: Exercise, bpm: float) -> Words:
    """What is written beside the music."""
    lesson = next(lesson for lesson in checked.course.lessons if lesson.slug == exercise.lesson)
    course = f"{checked.course.title} · {checked.course.teacher}"
    return Words(exercise.title, lesson.title, course, f"{bpm:g} beats a minute")


def hand_of(exercise: Exercise, score: Score, *, overlay: bool) -> Diagram | Held:
    """The chords that are held, or the fretboard of the exercise's shape, or that of its notes.

    The shape serves only where it lacks none of the notes. On the card of an overlay chords stand in twos.
    """
    own = replace(score, title=exercise.title)
    held = held_in(own, _CARD_CHORDS if overlay else _CHORDS)
    if held is not None:
        return held
    if exercise.shape is not None:
        places = {note.place for note in exercise.shape.notes}
        if all(note.place in places for note in score.notes):
            return fretboard_diagram(exercise.shape, id_prefix="film-neck")
    # a string that is only touched is not an open one
    sounding = tuple(note for note in own.notes if note.fret or not note.techniques.dead)
    return fretboard_diagram(own.with_notes(sounding or own.notes), id_prefix="film-neck")
