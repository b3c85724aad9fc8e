"""A tuning block: how a lesson lets its students tune."""

from typing import Final

from fretwright.base.errors import FretboardError
from fretwright.course.lessonfile import Block
from fretwright.course.model import TuningBlock, TuningWay
from fretwright.course.notebook import Notebook, did_you_mean, quoted
from fretwright.course.values import read_tuning, refuse_unknown_keys
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.tuning_steps import steps_by_frets

TUNING_KEYS: Final = ("title", "tuning", "by", "pegs", "remark")
_PEGS: Final = {"both sides": False, "in a row": True}
_USUAL_TITLE: Final = "In tune"


def build_tuning(block: Block, course_neck: Neck) -> TuningBlock | None:
    """Build a tuning block from its keys, or None with findings."""
    entries, notebook = block.entries, block.notebook
    refuse_unknown_keys(entries, TUNING_KEYS, notebook)
    tuning = read_tuning(entries.get("tuning"), notebook) or course_neck.tuning
    ways = _ways(block, notebook)
    row = _pegs(block, notebook)
    if TuningWay.FRETS in ways:
        try:
            steps_by_frets(tuning)
        except FretboardError as error:
            where = entries.get("by") or entries.get("tuning")
            notebook.refused("bad-value", where.span if where else block.span, error)
    if notebook.is_broken:
        return None
    title = " ".join(entries["title"].text.split()) if "title" in entries else _USUAL_TITLE
    return TuningBlock(
        id=block.id,
        lesson=block.lesson,
        title=title,
        tuning=tuning,
        ways=ways,
        pegs_in_a_row=row,
        left_handed=course_neck.left_handed,
        remark=entries["remark"].text.strip() if "remark" in entries else "",
        span=block.span,
    )


def _ways(block: Block, notebook: Notebook) -> tuple[TuningWay, ...]:
    entry = block.entries.get("by")
    if entry is None or entry.is_empty:
        return tuple(TuningWay)
    known = {way.value: way for way in TuningWay}
    found: list[TuningWay] = []
    for part in entry.parts():
        text = " ".join(part.text.lower().split())
        if text not in known:
            message = f"{quoted(part.text)} is no way of tuning."
            notebook.error("bad-value", part, message, did_you_mean(text, tuple(known)))
        elif known[text] not in found:
            found.append(known[text])
    return tuple(found)


def _pegs(block: Block, notebook: Notebook) -> bool:
    entry = block.entries.get("pegs")
    if entry is None or entry.is_empty:
        return False
    text = " ".join(entry.text.lower().split())
    if text not in _PEGS:
        message = f"{quoted(entry.text)} is no arrangement of pegs."
        notebook.error("bad-value", entry.span, message, did_you_mean(text, tuple(_PEGS)))
    return _PEGS.get(text, False)
