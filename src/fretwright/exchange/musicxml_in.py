"""A MusicXML file as a score.

Reads ``score-partwise`` and ``score-timewise`` of every version, plain or compressed. One part is taken; a
note that two staves show (notes above, tab below) is one note. What the score model has no room for is left
out and said.
"""

import re
from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from fretwright.base.errors import ExchangeError, FretwrightError
from fretwright.base.findings import Severity
from fretwright.base.spans import Span
from fretwright.exchange.draft import Draft, ReadOptions
from fretwright.exchange.imported import Imported, as_score
from fretwright.exchange.losses import Losses
from fretwright.exchange.musicxml_out import FIELD
from fretwright.exchange.names import exercise_name
from fretwright.exchange.packed import unpacked
from fretwright.exchange.xmlmeasures import MeasureReader
from fretwright.exchange.xmltree import Node, read_tree
from fretwright.fretboard.neck import Neck
from fretwright.score.score import AirStroke, LabelKind, Writing
from fretwright.score.techniques import Stroke
from fretwright.theory.key import Key
from fretwright.theory.scale import Scale

_LONGEST_TITLE: Final = 200
_LABELS: Final = (LabelKind.CHORD, LabelKind.TEXT, LabelKind.LYRIC)


def read_musicxml(data: bytes, name: str, options: ReadOptions | None = None) -> Imported:
    """The score in a MusicXML file, and what of it could not be carried over.

    ``name`` is the file's, for messages and spans. Raises :class:`~fretwright.base.errors.ExchangeError` for
    what is no MusicXML, is hostile, or has no part that a guitar could play.
    """
    options = options or ReadOptions()
    root = read_tree(unpacked(data, name), name)
    if root.tag not in {"score-partwise", "score-timewise"}:
        raise ExchangeError(
            f"{name} is no MusicXML score; it holds <{root.tag[:40]}>.", "Export it as MusicXML."
        )
    losses = Losses()
    part, measures = _chosen(_parts(root), root, options, losses, name)
    fields = _own_fields(root)
    reader = MeasureReader(name, losses, _neck(fields, options.neck))
    reader.read(measures)
    if not reader.bars:
        raise ExchangeError(f"{name} has a part without measures.", "Export it again from its program.")
    title = _title(root) or name.rpartition("/")[2].partition(".")[0]
    draft = Draft(
        name=exercise_name(fields.get("exercise") or title),
        title=title,
        neck=reader.neck,
        key=reader.key or Key(0),
        bars=tuple(reader.bars),
        notes=reader.heads.joined(),
        rests=reader.rests,
        tempo=tuple(mark for _, mark in sorted(reader.tempo.items()) if mark.at < reader.bars[-1].end),
        span=Span(name, part.line, part.column),
        swing=reader.swing,
        labels=tuple(sorted(reader.labels, key=lambda label: (_LABELS.index(label.kind), label.at))),
        scale=_scale(fields),
        position=_whole(fields.get("position")),
        air_strokes=tuple(_air_strokes(fields.get("air-strokes", ""))),
        writing=Writing.SLASHES if fields.get("writing") == Writing.SLASHES else Writing.NOTES,
    )
    return as_score(draft, options, losses)


def _parts(root: Node) -> dict[str, list[Node]]:
    """The measures of each part, by its id; a timewise score is turned round."""
    parts: dict[str, list[Node]] = {}
    if root.tag == "score-partwise":
        for part in root.all("part"):
            parts.setdefault(part.get("id"), []).extend(part.all("measure"))
        return parts
    for measure in root.all("measure"):
        for part in measure.all("part"):
            turned = Node("measure", measure.attributes, part.line, part.column, part.children)
            parts.setdefault(part.get("id"), []).append(turned)
    return parts


def _chosen(
    parts: dict[str, list[Node]], root: Node, options: ReadOptions, losses: Losses, name: str
) -> tuple[Node, list[Node]]:
    """The part that is to be read: the one asked for, or the first with strings and frets, or with notes."""
    names = {part.get("id"): part for part in root.all("part-list/score-part")}
    ids = list(parts)
    if options.part is not None:
        if not 1 <= options.part <= len(ids):
            raise ExchangeError(
                f"{name} has no part {options.part}.", f"It has {len(ids)}: {_list(ids, names)}."
            )
        chosen = ids[options.part - 1]
    else:
        pitched = [each for each in ids if any(True for _ in _pitches(parts[each]))]
        if not pitched:
            raise ExchangeError(f"{name} has no part with notes of a pitch.", "Export one that has.")
        chosen = next((each for each in pitched if _has_strings(parts[each])), pitched[0])
    node = names.get(chosen, root)
    if len(ids) > 1:
        losses.add(
            "other-parts",
            Span(name, node.line, node.column),
            f"One part of {len(ids)} was read: {_part_name(chosen, names)}. There are: {_list(ids, names)}.",
            "Choose another with --part and its number.",
            severity=Severity.ADVICE,
        )
    return node, parts[chosen]


def _pitches(measures: list[Node]) -> Iterator[Node]:
    return (pitch for measure in measures for pitch in measure.all("note/pitch"))


def _has_strings(measures: list[Node]) -> bool:
    return any(
        measure.find("note/notations/technical/fret") or measure.find("attributes/staff-details/staff-tuning")
        for measure in measures
    )


def _part_name(part: str, names: dict[str, Node]) -> str:
    return (names[part].words("part-name") if part in names else "") or part


def _list(ids: list[str], names: dict[str, Node]) -> str:
    return ", ".join(f"{number} {_part_name(part, names)}" for number, part in enumerate(ids, start=1))


def _title(root: Node) -> str:
    title = root.words("work/work-title") or root.words("movement-title") or root.words("credit/credit-words")
    return " ".join(title.split())[:_LONGEST_TITLE]


def _own_fields(root: Node) -> dict[str, str]:
    """What a file of ours says beyond the standard."""
    fields = root.all("identification/miscellaneous/miscellaneous-field")
    return {
        field.get("name").removeprefix(FIELD): field.text.strip()
        for field in fields
        if field.get("name").startswith(FIELD)
    }


def _neck(fields: dict[str, str], neck: Neck) -> Neck:
    try:
        length_mm = float(fields.get("scale-length-mm", neck.scale_length_mm))
        return Neck(neck.tuning, length_mm, _whole(fields.get("frets")) or neck.frets, neck.capo)
    except (ValueError, FretwrightError):
        return neck


def _scale(fields: dict[str, str]) -> Scale | None:
    try:
        return Scale.parse(fields["scale"]) if "scale" in fields else None
    except FretwrightError:
        return None


def _air_strokes(text: str) -> Iterator[AirStroke]:
    for match in re.finditer(r"([0-9]{1,6})(?:/([1-9][0-9]{0,5}))? (down|up)", text):
        yield AirStroke(Fraction(int(match[1]), int(match[2] or 1)), Stroke(match[3]))


def _whole(text: str | None) -> int | None:
    return int(text) if text and text.isdecimal() and len(text) < 4 else None
