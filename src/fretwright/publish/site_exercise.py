"""One exercise as its template shows it and as the player reads it."""

import json
from base64 import b64encode
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from markupsafe import Markup

from fretwright.course.model import Lesson
from fretwright.engrave.chord_sheet import ChangeTold, changes_told
from fretwright.engrave.plate import Plate
from fretwright.fretboard.voicing import Voicing
from fretwright.publish.chords import lesson_chords, other_hand
from fretwright.publish.material import BandTrack, ExerciseMaterial, FilmFiles
from fretwright.publish.soloing import OverChart, over_chart
from fretwright.score.note import Note
from fretwright.score.score import Score


@dataclass(frozen=True, slots=True)
class DownloadView:
    """A link to a file."""

    label: str
    address: str


@dataclass(frozen=True, slots=True)
class RungView:
    """One rung as the page shows it before a script runs."""

    bpm: int
    audio: str
    """Address of the plain sound file."""


@dataclass(frozen=True, slots=True)
class ExerciseView:
    """What the template of an exercise needs, ready to be written out."""

    anchor: str
    """Id of its section; every other id in it starts with this one."""
    title: str
    facts: str
    """Tempo, bars and meter in one line."""
    wide: Markup
    narrow: Markup
    diagram: Markup | None
    mirrored: Markup | None
    """The same as a player of the other hand sees it."""
    other_hand: str
    legend: str
    """How to read the diagram."""
    remark: Markup
    sentences: tuple[str, ...]
    """The walk-through."""
    changes: tuple[ChangeTold, ...]
    """The changes of its chords in words, the hardest first."""
    over: OverChart | None
    """What to play over a chart."""
    rungs: tuple[RungView, ...]
    band: tuple[BandTrack, ...]
    """Tracks to play along with, their paths as addresses."""
    downloads: tuple[DownloadView, ...]
    data: Markup
    """JSON for the player, safe inside a script element."""
    film: "FilmView | None" = None


@dataclass(frozen=True, slots=True)
class FilmView:
    """The film as a page shows it; all but the last two are addresses."""

    moving: str
    calm: str
    poster: str
    captions: str
    inline_captions: str
    """The captions themselves as an address: a page opened from a folder may load no text track."""
    width: int
    height: int


def _band_view(track: BandTrack, address: Callable[[str], str]) -> BandTrack:
    together = None if track.with_guitar is None else address(track.with_guitar)
    return replace(track, band=address(track.band), loop=address(track.loop), with_guitar=together)


def _film_view(film: FilmFiles | None, address: Callable[[str], str]) -> FilmView | None:
    if film is None:
        return None
    inline = f"data:text/vtt;base64,{b64encode(film.captions_text.encode()).decode()}"
    return FilmView(
        moving=address(film.moving),
        calm=address(film.calm),
        poster=address(film.poster),
        captions=address(film.captions),
        inline_captions=inline,
        width=film.width,
        height=film.height,
    )


def exercise_view(material: ExerciseMaterial, address: Callable[[str], str], remark: Markup) -> ExerciseView:
    """Gather what a page shows of one exercise; ``address`` turns a path into one seen from the page."""
    exercise = material.exercise
    return ExerciseView(
        anchor=f"ex-{exercise.id}",
        title=exercise.title,
        facts=_facts(material),
        wide=_svg(material.wide.svg),
        narrow=_svg(material.narrow.svg),
        diagram=None if material.diagram is None else _svg(material.diagram.svg),
        mirrored=None if material.mirrored is None else _svg(material.mirrored.svg),
        other_hand=other_hand(is_left=material.score.neck.left_handed),
        legend="" if material.diagram is None else material.diagram.legend,
        remark=remark,
        sentences=tuple(sentence.text for sentence in material.walk_through.sentences),
        changes=changes_told(material.score),
        over=over_chart(material.score) if exercise.is_chart else None,
        rungs=tuple(RungView(rung.bpm, address(rung.audio)) for rung in material.rungs),
        band=tuple(_band_view(track, address) for track in material.band),
        downloads=tuple(DownloadView(each.label, address(each.path)) for each in material.downloads),
        data=_json(_player_data(material, address)),
        film=_film_view(material.film, address),
    )


@dataclass(frozen=True, slots=True)
class ChordsView:
    """The chords on top of a lesson, ready to be written out."""

    title: str
    picture: Markup
    mirrored: Markup
    other_hand: str
    legend: str
    words: tuple[tuple[str, str], ...]


def chords_view(lesson: Lesson, materials: Mapping[str, ExerciseMaterial]) -> ChordsView | None:
    """Gather what a page shows of a lesson's chords; None where it has none."""
    chords = lesson_chords(lesson, materials)
    if chords is None:
        return None
    return ChordsView(
        title=chords.picture.title,
        picture=_svg(chords.picture.svg),
        mirrored=_svg(chords.mirrored.svg),
        other_hand=chords.other_hand,
        legend=chords.picture.legend,
        words=chords.words,
    )


def _svg(svg: str) -> Markup:
    return Markup(svg)  # noqa: S704 - drawn by the engraver, which escapes the teacher's words


def _json(value: object) -> Markup:
    """JSON that no HTML parser can take for the end of its element or the start of a comment."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))  # noqa: S704 - no markup is left in it


def _facts(material: ExerciseMaterial) -> str:
    score = material.score
    bars = sum(bar.number > 0 for bar in score.bars)
    meter = score.bars[-1].meter
    slowest, goal = material.rungs[0].bpm, material.rungs[-1].bpm
    tempo = f"{slowest} to {goal} beats a minute" if goal > slowest else f"{slowest} beats a minute"
    return f"{bars} {'bar' if bars == 1 else 'bars'} of {meter.count}/{meter.unit}, {tempo}"


def _player_data(material: ExerciseMaterial, address: Callable[[str], str]) -> dict[str, object]:
    return {
        "exercise": material.exercise.name,
        "rungs": [{"bpm": rung.bpm, "script": address(rung.script)} for rung in material.rungs],
        "notes": _told_notes(material.score),
        "sentences": [list(sentence.note_ids) for sentence in material.walk_through.sentences],
        "wide": _drawing(material.wide),
        "narrow": _drawing(material.narrow),
    }


def _told_notes(score: Score) -> list[dict[str, object]]:
    """Every note by id with its bar and the words by which a student picks it; chords stand as one."""
    names = [(label.at, label.voicing) for label in score.labels if label.voicing is not None]
    together: dict[Fraction, list[Note]] = {}
    for note in score.notes:
        together.setdefault(note.onset, []).append(note)
    told: list[dict[str, object]] = []
    count: dict[int, int] = {}
    for onset, notes in together.items():
        bar = score.bar_at(onset).number
        count[bar] = count.get(bar, 0) + 1
        held = next((voicing for at, voicing in reversed(names) if at <= onset), None)
        words = f"note {count[bar]}: {_struck(notes, held)}"
        told.append({"id": notes[0].id, "bar": bar, "words": words})
    return told


def _struck(notes: Sequence[Note], held: Voicing | None) -> str:
    """The places of notes that start together; of a chord struck as it is held, its name and the stroke."""
    if held is not None and [note.place for note in notes] == list(held.places):
        stroke = f", {notes[0].stroke.value} stroke" if notes[0].stroke else ""
        return f"{held.chord.pretty}{stroke}"
    return " and ".join(_place(note) for note in notes)


def _place(note: Note) -> str:
    return f"string {note.string}, " + (f"fret {note.fret}" if note.fret else "open")


def _drawing(plate: Plate) -> dict[str, object]:
    """A plate's measures in mm.

    By note id its boxes as [left, top, width, height, system], and its systems as [top, height].
    """
    return {
        "width": plate.width_mm,
        "boxes": {
            note_id: [[*map(_short, (box.x, box.y, box.width, box.height)), box.system] for box in boxes]
            for note_id, boxes in plate.boxes.items()
        },
        "systems": [[_short(system.y), _short(system.height)] for system in plate.systems],
    }


def _short(length_mm: float) -> float:
    return round(length_mm, 2)
