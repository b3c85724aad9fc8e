"""Rows of marks outside the lines: strokes, fingers, chord names, words, endings, bar numbers.

Each row is straight where a row is read as one (strokes, fingers, chord names, endings); its height is
that of the mark that has to stand furthest out.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final

from fretwright.engrave.beside import GraceSlot
from fretwright.engrave.heads import GRACE_SCALE
from fretwright.engrave.ink import Ink, Layer, Line, Text, centred, ink_of
from fretwright.engrave.marks import (
    FINGER_FACE,
    FINGER_SIZE,
    NUMBER_FACE,
    NUMBER_SIZE,
    TEXT_FACE,
    TEXT_SIZE,
)
from fretwright.engrave.outlines import Face
from fretwright.engrave.placing import PlacedBar, PlacedSystem
from fretwright.engrave.shapes import MomentShape
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.style import ENDING_BRACKET, HEAD_WIDTH, ROW_GAP
from fretwright.score.score import Label, LabelKind

_FAR: Final = 99.0
_ENDING_HEIGHT: Final = 2.1


def finger_row(system: PlacedSystem, sky: Skyline) -> list[Ink]:
    """Fingers under the tab, one above the other (string 1 on top) where several notes sound together."""
    height = -ink_of("1", FINGER_FACE, FINGER_SIZE).top
    columns = [(x, _fingers(shape), 1.0) for shape, x in system.moments]
    columns += [
        (x + slot.dx, _small_fingers(slot), GRACE_SCALE)
        for shape, x in system.moments
        for slot in shape.beside.graces
    ]
    columns = [column for column in columns if column[1]]
    if not columns:
        return []
    y = max(sky.edge(x - 0.5, x + 0.5, ROW_GAP, at_least=-_FAR) for x, _, _ in columns) + height
    drawn: list[Ink] = [
        centred(
            mark,
            FINGER_FACE,
            FINGER_SIZE * scale,
            x,
            y + place * (height + 0.3),
            role="finger",
            note=note,
            layer="tab",
        )
        for x, fingers, scale in columns
        for place, (mark, note) in enumerate(fingers)
    ]
    sky.add_ink(drawn)
    return drawn


def _fingers(shape: MomentShape) -> list[tuple[str, str]]:
    struck = [head.note for head in reversed(shape.moment.heads) if not head.is_held]
    return [(note.finger.mark, note.id) for note in struck if note.finger is not None]


def _small_fingers(slot: GraceSlot) -> list[tuple[str, str]]:
    """Those of small notes that sound together, the highest string on top."""
    found = [(head.note.techniques.graces[head.index], head.note.id) for head in slot.heads]
    found.sort(key=lambda each: each[0].place.string)
    return [(grace.finger.mark, owner) for grace, owner in found if grace.finger is not None]


def text_rows(
    labels: Sequence[Label], system: PlacedSystem, sky: Skyline, layer: Layer, width: float
) -> list[Ink]:
    """The words among a system's labels; what would run into each other stands in rows of its own."""
    waiting: list[tuple[str, float]] = []
    for label in labels:
        if label.kind is LabelKind.TEXT:
            at = x_at(system, label.at) - HEAD_WIDTH / 2
            for line in reversed(_wrapped(label.text, width)):
                end = at + ink_of(line, TEXT_FACE, TEXT_SIZE).right
                waiting.append((line, max(0.0, at - max(0.0, end - width))))
    drawn: list[Ink] = []
    while waiting:
        row: list[tuple[str, float]] = []
        later: list[tuple[str, float]] = []
        for text, x in waiting:
            free = not row or x > row[-1][1] + ink_of(row[-1][0], TEXT_FACE, TEXT_SIZE).right + 0.8
            (row if free else later).append((text, x))
        drawn.extend(straight_row(row, TEXT_FACE, TEXT_SIZE, sky, 0.6, "text", layer))
        waiting = later
    return drawn


def _wrapped(text: str, width: float) -> list[str]:
    """The text in lines that are no wider than the plate."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and ink_of(longer, TEXT_FACE, TEXT_SIZE).right <= width:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def straight_row(
    placed: Sequence[tuple[str, float]],
    face: Face,
    size: float,
    sky: Skyline,
    gap: float,
    role: str,
    layer: Layer,
) -> list[Ink]:
    """Letters on one line, as low as the highest thing under any of them allows."""
    if not placed:
        return []
    edges: list[float] = []
    for text, x in placed:
        box = ink_of(text, face, size)
        edges.append(sky.edge(x, x + box.right, gap, at_least=_FAR) - max(0.0, box.bottom))
    y = min(edges)
    drawn: list[Ink] = [Text(text, face, size, x, y, role=role, layer=layer) for text, x in placed]
    sky.add_ink(drawn)
    return drawn


def ending_row(system: PlacedSystem, sky: Skyline, layer: Layer) -> list[Ink]:
    """Brackets over bars that are played on some times through only, and how often repeats go round."""
    spans = list(_ending_spans(system.bars))
    drawn: list[Ink] = []
    if spans:
        edge = min(sky.edge(bars[0].left, bars[-1].right, 0.4, at_least=-1.2) for bars, _, _ in spans)
        y = edge - _ENDING_HEIGHT
        for bars, opens, closes in spans:
            drawn.extend(_ending(bars, y, opens=opens, closes=closes, layer=layer))
        sky.add_ink(drawn)
    for bar in system.bars:
        times = bar.plan.content.bar.closes_repeat
        if times > 2 and not bar.plan.content.bar.endings:
            width = ink_of(f"× {times}", NUMBER_FACE, NUMBER_SIZE).right
            y = sky.edge(bar.right - width, bar.right, 0.4, at_least=-0.8)
            count = Text(
                f"× {times}",
                NUMBER_FACE,
                NUMBER_SIZE,
                bar.right - width,
                y,
                role="repeat-count",
                layer=layer,
            )
            drawn.append(count)
            sky.add_ink([count])
    return drawn


def _ending_spans(bars: Sequence[PlacedBar]) -> Iterator[tuple[list[PlacedBar], bool, bool]]:
    """Neighbouring bars under one bracket, whether it starts here and whether it ends here."""
    run: list[PlacedBar] = []
    for bar in bars:
        endings = bar.plan.content.bar.endings
        if run and endings != run[-1].plan.content.bar.endings:
            yield run, True, bool(run[-1].plan.content.bar.closes_repeat)
            run = []
        if endings:
            run.append(bar)
    if run:
        yield run, True, bool(run[-1].plan.content.bar.closes_repeat)


def _ending(bars: Sequence[PlacedBar], y: float, *, opens: bool, closes: bool, layer: Layer) -> Iterator[Ink]:
    left, right = bars[0].left + 0.2, bars[-1].right - 0.2
    half = ENDING_BRACKET / 2
    yield Line(left, y, right, y, ENDING_BRACKET, role="ending", layer=layer)
    if opens:
        yield Line(
            left + half, y, left + half, y + _ENDING_HEIGHT, ENDING_BRACKET, role="ending", layer=layer
        )
    if closes:
        yield Line(
            right - half, y, right - half, y + _ENDING_HEIGHT, ENDING_BRACKET, role="ending", layer=layer
        )
    text = " ".join(f"{number}." for number in bars[0].plan.content.bar.endings)
    baseline = y + 0.55 - ink_of(text, NUMBER_FACE, NUMBER_SIZE).top
    yield Text(text, NUMBER_FACE, NUMBER_SIZE, left + 0.6, baseline, role="ending-number", layer=layer)


def bar_number(system: PlacedSystem, sky: Skyline, layer: Layer) -> list[Ink]:
    """The number of the first bar, over the start of a system."""
    text = str(system.bars[0].plan.content.bar.number)
    box = ink_of(text, NUMBER_FACE, NUMBER_SIZE)
    y = sky.edge(0.0, box.right, 0.4, at_least=-0.6)
    drawn: list[Ink] = [Text(text, NUMBER_FACE, NUMBER_SIZE, -box.left, y, role="bar-number", layer=layer)]
    sky.add_ink(drawn)
    return drawn


def x_at(system: PlacedSystem, time: Fraction) -> float:
    """Where a moment of a system stands on the line: on its column's axis, or in proportion behind it."""
    bar = next(bar for bar in reversed(system.bars) if bar.plan.content.bar.start <= time)
    moments = bar.plan.content.moments
    place = max(0, bisect_right(moments, time, key=lambda moment: moment.at) - 1)
    if not moments or time < moments[place].at:
        return bar.left + bar.plan.start_width + bar.plan.lead
    last = place + 1 == len(moments)
    filled = len(moments) == 1 and moments[place].fills_bar
    x = bar.left + bar.plan.start_width + bar.plan.lead if filled else bar.axes[place]
    following = bar.inner_right if last else bar.axes[place + 1]
    share = (time - moments[place].at) / bar.plan.content.gap_after(place)
    return x + (following - x) * float(share)
