"""The overlay in time with the teacher's own recording: hear the lesson, time its plates, burn them in."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.check.check import Checked
from fretwright.course.model import Lesson
from fretwright.ear.take import Refusal
from fretwright.ear.track import TrackHearing, hear_track
from fretwright.ear.track_rehear import Demonstration
from fretwright.ear.track_search import Line
from fretwright.engrave.walkthrough import walk_through
from fretwright.film.captions import Cue, captions_played
from fretwright.film.chapters import Chapter
from fretwright.film.clock import Clock
from fretwright.film.clock_played import clock_played
from fretwright.film.encode import BURNED, kind_of
from fretwright.film.footage import Footage, probe
from fretwright.film.layout import screen_of
from fretwright.film.over import FADE_S, Showing, showings
from fretwright.film.over_write import DESCRIBED_SUFFIX, OverFilm, write_over
from fretwright.film.pauses import Pauses, pause_for
from fretwright.film.scene import Scene, Words, played_again, scene_of
from fretwright.film.size import FilmSize
from fretwright.film.speech import say, voice
from fretwright.film.write import CAPTION_SUFFIX, DESCRIPTION_SUFFIX, Progress, appearing
from fretwright.flows.film import hand_of, words_of
from fretwright.flows.film_cues import cue_sheet, slip_report
from fretwright.flows.film_slips import Shown, Slip, slips_of
from fretwright.flows.reading import require_lesson
from fretwright.score.playing import Playing
from fretwright.score.timeline import timeline

SHEET_SUFFIX: Final = ".json"
REPORT_SUFFIX: Final = ".txt"
_LEAST_OPENING_S: Final = 1.0
_PACE: Final = 175
"""Words a minute of the description: calm, since the film waits for it."""


@dataclass(frozen=True, slots=True)
class OverOrder:
    """What is asked for."""

    lesson: str
    recording: Path
    out: Path
    """The film; captions, cue sheet and report are written beside it."""
    size: FilmSize | None = None
    """The recording's own by default; it can be chosen for an overlay alone."""
    overlay: bool = False
    """The overlay alone, on nothing, as long as the recording."""
    fretboard: bool = False
    reduced_motion: bool = False
    prores: bool = False
    described: bool = False
    """With a description: as text, and, where a synthesiser is installed, in a second film that stands still
    while each exercise is told before it is first played."""


@dataclass(frozen=True, slots=True)
class OverReport:
    """What came of it."""

    files: tuple[Path, ...]
    shown: tuple[Shown, ...]
    slips: tuple[Slip, ...]


Hearing = Callable[[float, float], None]
"""Called with how many seconds of the sound track have been heard, of how many."""


def film_over(
    order: OverOrder,
    checked: Checked,
    hearing: Hearing = lambda *_: None,
    progress: Progress = lambda *_: None,
) -> OverReport | Refusal:
    """Make the film; refused, and nothing written, where none of the lesson's exercises is heard.

    Raises :class:`~fretwright.base.errors.UsageError` for a lesson, recording or file name that will not do,
    and :class:`~fretwright.base.errors.RenderError` if something cannot be read to its end or written.
    """
    require_lesson(checked, order.lesson)
    kind = kind_of(order.out.suffix, overlay=order.overlay, prores=order.prores)
    footage = probe(order.recording)
    _require_usable(order, footage)
    lesson = next(each for each in checked.course.lessons if each.slug == order.lesson)
    heard = _hear(lesson, checked, footage, hearing)
    if isinstance(heard, Refusal):
        return heard
    size = _size(order, footage)
    shown = tuple(_shown(lesson, checked, heard))
    cards = _cards(order, checked, shown, size)
    told = tuple(_told(shown, cards)) if order.described else ()
    slips = slips_of(shown, heard.unlisted, lesson.exercises)
    film = OverFilm(
        footage,
        kind if order.overlay else BURNED,
        size,
        cards,
        tuple(_captions(cards)),
        tuple(_chapters(cards, footage)),
        lesson.title,
        told,
        _pauses(told, footage) if told and not order.overlay and voice() is not None else None,
    )
    sheet, report = (order.out.with_suffix(suffix) for suffix in (SHEET_SUFFIX, REPORT_SUFFIX))
    # Left in reverse order: they appear only beside a film that has appeared.
    with appearing(sheet) as sheet_part, appearing(report) as report_part:
        sheet_part.write_text(cue_sheet(order.lesson, film, shown, slips), encoding="utf-8", newline="\n")
        report_text = slip_report(order.recording.name, shown, slips)
        report_part.write_text(report_text, encoding="utf-8", newline="\n")
        files = write_over(film, order.out, progress)
    return OverReport((*files, sheet, report), shown, slips)


def _require_usable(order: OverOrder, footage: Footage) -> None:
    if not footage.has_sound:
        raise UsageError(
            "There is no sound in the recording.",
            "The playing is found by ear: film with the microphone on.",
        )
    if not footage.has_picture and not order.overlay:
        raise UsageError(
            "There is no picture in the recording to lay anything over.",
            "Add --overlay, and lay the overlay over your pictures in an editor.",
        )
    if order.size is not None and not order.overlay:
        raise UsageError(
            "A burned-in film has the size of its recording.",
            "Leave --size, --shape and --fps out, or add --overlay.",
        )
    suffixes = (
        order.out.suffix,
        CAPTION_SUFFIX,
        SHEET_SUFFIX,
        REPORT_SUFFIX,
        DESCRIPTION_SUFFIX,
        DESCRIBED_SUFFIX,
    )
    for path in (order.out.with_suffix(suffix) for suffix in suffixes):
        if path.exists() and path.samefile(order.recording):
            raise UsageError(
                f"{path} is the recording itself, which is never written to.",
                "Choose another name with --out.",
            )


def _size(order: OverOrder, footage: Footage) -> FilmSize:
    """The measures of the pictures; their rate is the recording's and stands elsewhere."""
    if order.size is not None:
        return order.size
    return FilmSize(footage.width, footage.height, 30) if footage.has_picture else FilmSize(1920, 1080, 30)


def _hear(lesson: Lesson, checked: Checked, footage: Footage, hearing: Hearing) -> TrackHearing | Refusal:
    exercises = lesson.exercises
    if not exercises:
        raise UsageError(f"The lesson {lesson.slug} has no exercise to look for.", "Choose another lesson.")
    lines = [Line(each.name, timeline(checked.score_of(each), each.ladder.start_bpm)) for each in exercises]
    length_s = footage.length_s

    def heard_s(time_s: float) -> None:
        hearing(min(time_s, length_s), length_s)

    return hear_track(footage.path, lines, heard_s)


def _shown(lesson: Lesson, checked: Checked, heard: TrackHearing) -> Iterator[Shown]:
    by_name = {each.name: each for each in lesson.exercises}
    for one in heard.demonstrations:
        exercise = by_name[one.name]
        yield Shown(exercise, checked.score_of(exercise), one, _playing(one))


def _playing(one: Demonstration) -> Playing:
    onsets = tuple(note.onset_s for note in one.notes)
    return Playing(one.first, onsets, one.clear_from_s, one.clear_until_s)


def _cards(order: OverOrder, checked: Checked, shown: Sequence[Shown], size: FilmSize) -> tuple[Showing, ...]:
    first: dict[str, Scene] = {}
    scenes: list[tuple[Scene, Playing]] = []
    for each in shown:
        clock = clock_played(each.score, each.playing)
        words = words_of(checked, each.exercise, round(clock.bpm))
        known = first.get(each.exercise.name)
        scene = played_again(known, clock, words) if known else _scene(order, each, clock, words, size)
        first.setdefault(each.exercise.name, scene)
        scenes.append((scene, each.playing))
    return showings(scenes)


def _scene(order: OverOrder, shown: Shown, clock: Clock, words: Words, size: FilmSize) -> Scene:
    return scene_of(
        shown.score,
        clock,
        screen_of(size, overlay=True, fretboard=order.fretboard),
        words,
        hand_of(shown.exercise, shown.score, overlay=True) if order.fretboard else None,
        reduced_motion=order.reduced_motion,
    )


def _told(shown: Sequence[Shown], cards: Sequence[Showing]) -> Iterator[Cue]:
    """Each exercise in words, at the time at which its card first comes."""
    known: set[str] = set()
    for one, card in zip(shown, cards, strict=True):
        if one.exercise.name in known:
            continue
        known.add(one.exercise.name)
        tempo = card.scene.score.tempo.at_start(round(card.scene.clock.bpm))
        words = walk_through(replace(card.scene.score, tempo=tempo)).text
        # in full view, and before anything is played
        from_s = min(card.from_s + FADE_S, max(card.from_s, one.playing.starts_s - FADE_S))
        yield Cue(from_s, card.until_s, f"{one.exercise.title}. {words}")


def _pauses(told: Sequence[Cue], footage: Footage) -> Pauses:
    rate = footage.rate
    return Pauses(rate, tuple(pause_for(cue.start_s, say(cue.text, _PACE), rate) for cue in told))


def _captions(cards: Sequence[Showing]) -> Iterator[Cue]:
    for card in cards:
        score = card.scene.score
        yield from captions_played(score, walk_through(score).sentences, card.scene.clock)


def _chapters(cards: Sequence[Showing], footage: Footage) -> Iterator[Chapter]:
    """One for each demonstration, up to the next."""
    starts = [(card.from_s, f"{card.scene.words.title}, {card.scene.words.tempo}") for card in cards]
    if starts[0][0] > _LEAST_OPENING_S:
        starts.insert(0, (0.0, "Opening"))
    ends = [start_s for start_s, _ in starts[1:]] + [footage.length_s]
    for (start_s, title), end_s in zip(starts, ends, strict=True):
        yield Chapter(start_s, max(start_s, end_s), title)
