"""Reading a block that was written, to be sure that it says what it was written from."""

from dataclasses import replace

from fretwright.course.build import build_exercise
from fretwright.course.inherit import Wanted
from fretwright.course.lessonfile import Block, read_lesson
from fretwright.course.notebook import Notebook
from fretwright.course.page import page_of
from fretwright.score.score import Label, Score

_HEAD = "---\ntitle: A\ngoal: A\n---\n"


def says_the_same(text: str, score: Score) -> bool:
    """Whether a block reads without errors and gives the score's notes, rests, names, words and strokes."""
    notebook = Notebook()
    draft = read_lesson(page_of("lessons/a.md", _HEAD + text), "a", notebook)
    blocks = [part for part in draft.parts if isinstance(part, Block)]
    if len(blocks) != 1 or notebook.findings:
        return False
    (block,) = blocks
    built = build_exercise(Wanted(block, block.entries, None), score.neck, score.instrument)
    return built is not None and not block.notebook.is_broken and _bare(built.score) == _bare(score)


def _bare(score: Score) -> tuple[object, ...]:
    """What a block is written to say."""
    return (
        tuple(replace(note, source=None) for note in score.notes),
        tuple(replace(rest, source=None) for rest in score.rests),
        sorted(map(_label, score.labels), key=repr),
        score.bars,
        score.air_strokes,
        score.writing,
        score.neck,
        score.key,
        score.swing,
        score.instrument,
    )


def _label(label: Label) -> tuple[object, ...]:
    held = None if label.voicing is None else (label.voicing.frets, label.voicing.fingers)
    return label.at, label.kind, label.text, label.verse, held
