"""Looks at a text that is being written, and text that the helpers write, as the editor asks for them."""

import base64
from typing import Annotated, Final

from fastapi import APIRouter, Depends
from pydantic import BaseModel, Field

from fretwright.base.findings import Finding
from fretwright.engrave.chord_diagram import chord_diagram
from fretwright.flows.desk_inserts import (
    RuleChoices,
    chord_block,
    chords_held,
    ids_in,
    readings_of,
    rule_block,
    spot_for,
)
from fretwright.flows.desk_preview import NARROW_MM, WIDE_MM, Shown, findings_of, preview, preview_sound
from fretwright.fretboard.neck import Place
from fretwright.web.access import AtSchool, teacher_only
from fretwright.web.pages.desk_write import FileName, FileText
from fretwright.web.refusals import ERROR_ANSWERS

router = APIRouter(
    prefix="/api/desk", tags=["desk"], responses=ERROR_ANSWERS, dependencies=[Depends(teacher_only)]
)

_MOST_NAMES: Final = 4


class Written(BaseModel):
    """A file as the editor has it."""

    file: FileName
    text: FileText


class Look(Written):
    """A look at the exercise under the cursor."""

    line: Annotated[int, Field(ge=1, le=10_000_000)]
    narrow: bool = False
    """For a narrow screen."""


class FindingBody(BaseModel):
    """One thing that the check found."""

    code: str
    severity: str
    line: int
    column: int
    text: str
    """The words it is about; may be empty."""
    message: str
    mend: str


class ShownBody(BaseModel):
    """The exercise under the cursor."""

    name: str
    title: str
    tempos: list[int]
    plate: str
    """SVG."""
    neck: str
    """SVG."""
    legend: str
    sentences: list[str]


class LookAnswer(BaseModel):
    """What one text says, as far as its own lesson tells."""

    findings: list[FindingBody]
    block: str | None
    shown: ShownBody | None


class FindingsAnswer(BaseModel):
    """What the whole course tells of one text."""

    findings: list[FindingBody]


class SoundOrder(Written):
    """An exercise to be sounded."""

    exercise: Annotated[str, Field(max_length=200)]
    bpm: Annotated[int, Field(ge=10, le=400)]


class SoundAnswer(BaseModel):
    """Its sound."""

    audio: str
    """AAC in MP4, in base64."""
    notes: list[tuple[str, float, float]]
    """Note id, onset and duration in seconds."""


class Cursor(BaseModel):
    """Where something is to be written."""

    text: FileText
    line: Annotated[int, Field(ge=1, le=10_000_000)]


class ChoicesBody(BaseModel):
    """What was picked for an exercise by rule."""

    tonic: Annotated[str, Field(max_length=3)]
    kind: Annotated[str, Field(max_length=60)]
    position: Annotated[int, Field(ge=0, le=36)]
    path: Annotated[str, Field(max_length=40)]
    notes: Annotated[str, Field(max_length=40)]
    slur: Annotated[str, Field(max_length=40)] = ""
    slow_bpm: Annotated[int, Field(ge=10, le=400)]
    goal_bpm: Annotated[int, Field(ge=10, le=400)]


class RuleOrder(Cursor):
    """An exercise by rule."""

    choices: ChoicesBody


class NeckOrder(Cursor):
    """Places on the neck: string and fret."""

    places: Annotated[
        list[tuple[Annotated[int, Field(ge=1, le=12)], Annotated[int, Field(ge=0, le=36)]]],
        Field(min_length=1, max_length=64),
    ]


class ChordOrder(Cursor):
    """A chord as it is held: frets from the lowest string up."""

    frets: Annotated[str, Field(max_length=60)]


class Offer(BaseModel):
    """Something that can be written."""

    says: str
    row: int
    """Before this line, from 0."""
    text: str


class OffersAnswer(BaseModel):
    """What can be written, the likeliest first."""

    offers: list[Offer]


class ChordAnswer(OffersAnswer):
    """A chord and its names."""

    diagram: str
    """SVG."""


@router.post("/look")
def look(school: AtSchool, order: Look) -> LookAnswer:
    """Findings of a text's own lesson, and the exercise under the cursor."""
    width_mm = NARROW_MM if order.narrow else WIDE_MM
    found = preview(school.settings.course, order.file, order.text, order.line, width_mm)
    shown = None if found.shown is None else _shown(found.shown)
    return LookAnswer(findings=_bodies(found.findings), block=found.block, shown=shown)


@router.post("/look-whole")
def look_whole(school: AtSchool, order: Written) -> FindingsAnswer:
    """Findings of a text, those among them that only the whole course tells."""
    return FindingsAnswer(findings=_bodies(findings_of(school.settings.course, order.file, order.text)))


@router.post("/sound")
def sound(school: AtSchool, order: SoundOrder) -> SoundAnswer:
    """An exercise of an unsaved text, to be heard."""
    made = preview_sound(school.settings.course, order.file, order.text, order.exercise, order.bpm)
    return SoundAnswer(
        audio=base64.b64encode(made.audio).decode("ascii"),
        notes=[(note.note_id, round(note.onset_s, 4), round(note.duration_s, 4)) for note in made.notes],
    )


@router.post("/rule")
def rule(order: RuleOrder) -> OffersAnswer:
    """An exercise from choices."""
    picked = order.choices
    choices = RuleChoices(
        scale=f"{picked.tonic} {picked.kind}",
        position=picked.position,
        path=picked.path,
        notes=picked.notes,
        slow_bpm=picked.slow_bpm,
        goal_bpm=picked.goal_bpm,
        slur=picked.slur,
    )
    return OffersAnswer(offers=[_offer(order, choices.scale, rule_block(choices, ids_in(order.text)))])


@router.post("/neck")
def neck(school: AtSchool, order: NeckOrder) -> OffersAnswer:
    """What a set of places on the neck may be."""
    places = [Place(string, fret) for string, fret in order.places]
    found = readings_of(places, school.classroom.now.checked.course.neck, ids_in(order.text))
    return OffersAnswer(offers=[_offer(order, each.says, each.block) for each in found])


@router.post("/chord")
def chord(school: AtSchool, order: ChordOrder) -> ChordAnswer:
    """What a grip is called."""
    held = chords_held(order.frets, school.classroom.now.checked.course.neck)[:_MOST_NAMES]
    taken = ids_in(order.text)
    return ChordAnswer(
        offers=[_offer(order, str(each.chord), chord_block(each, taken)) for each in held],
        diagram=chord_diagram(held[0], id_prefix="held").svg,
    )


def _shown(shown: Shown) -> ShownBody:
    return ShownBody(
        name=shown.name,
        title=shown.title,
        tempos=list(shown.tempos_bpm),
        plate=shown.drawn.plate,
        neck=shown.drawn.neck,
        legend=shown.drawn.legend,
        sentences=list(shown.drawn.sentences),
    )


def _offer(cursor: Cursor, says: str, block: str) -> Offer:
    spot = spot_for(cursor.text, cursor.line, block)
    return Offer(says=says, row=spot.row, text=spot.text)


def _bodies(findings: tuple[Finding, ...]) -> list[FindingBody]:
    return [
        FindingBody(
            code=finding.code,
            severity=finding.severity.value,
            line=finding.span.line,
            column=finding.span.column,
            text=finding.span.text.split("\n")[0],
            message=finding.message,
            mend=finding.mend,
        )
        for finding in findings
    ]
