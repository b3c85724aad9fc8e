"""The waveform of a take, with the moment of each note on it: what a teacher looks at while listening.

Samples of a take and what was heard in it enter; one SVG leaves, in ink alone. Each column is as high as the
loudest sample in it. A note's onset is a line through the whole height that carries the note's place in the
hearing, so that a page can find it; what failed has a shape over its line, the same as on the plate.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from fretwright.ear.take import RATE_HZ, Take
from fretwright.ear.verdicts import Hearing, Verdict
from fretwright.engrave.diagram import PAPER, SOFT
from fretwright.engrave.heard_pieces import shape
from fretwright.engrave.lettering import mm, require_id, xml_text
from fretwright.engrave.svg import INK_COLOUR
from fretwright.score.marks import MarkShape

COLUMNS: Final = 600
WIDTH_MM: Final = 170.0
_WAVE_MM: Final = 18.0
_TOP_MM: Final = 4.0
_QUIETEST: Final = 0.02
"""A take whose loudest sample lies below this is drawn small, so that noise does not look like music."""
_SHAPES: Final = {
    Verdict.MISSED: MarkShape.RING,
    Verdict.WRONG: MarkShape.CROSS,
    Verdict.UNSURE: MarkShape.DIAMOND,
}


@dataclass(frozen=True, slots=True)
class Waveform:
    """The drawn waveform."""

    svg: str
    length_s: float
    """What its width stands for."""


def waveform(take: Take, heard: Hearing | None, *, title: str, id_prefix: str = "wave") -> Waveform:
    """Draw a take; with a hearing, the moments of its notes."""
    require_id(id_prefix)
    return Waveform("\n".join(_svg(take, heard, title, id_prefix)) + "\n", take.length_s)


def heights(take: Take, columns: int = COLUMNS) -> list[float]:
    """The loudest sample of each column against the loudest of all, from 0 to 1."""
    edges = np.linspace(0, len(take.samples), columns + 1).astype(int)
    loud = np.abs(take.samples)
    peaks = np.array([loud[start:end].max(initial=0.0) for start, end in pairwise(edges)])
    full = max(float(peaks.max(initial=0.0)), _QUIETEST)
    return [round(float(peak) / full, 3) for peak in peaks]


def _svg(take: Take, heard: Hearing | None, title: str, prefix: str) -> Iterator[str]:
    height = _TOP_MM + _WAVE_MM
    length_s = len(take.samples) / RATE_HZ
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="waveform" role="img" '
        f'aria-labelledby="{prefix}-title" viewBox="0 0 {mm(WIDTH_MM)} {mm(height)}" '
        f'fill="{INK_COLOUR}" color="{INK_COLOUR}">'
    )
    words = f"{title}: {length_s:.1f} seconds"
    yield f'<title id="{prefix}-title">{xml_text(words)}</title>'
    yield f'<path class="paper" d="M0 0H{mm(WIDTH_MM)}V{mm(height)}H0Z" fill="{PAPER}"/>'
    yield f'<path class="wave" d="{_outline(heights(take))}" fill="{SOFT}"/>'
    for place, note in enumerate(heard.notes if heard else ()):
        if note.onset_s is None:
            continue
        x = WIDTH_MM * min(max(note.onset_s / length_s, 0.0), 1.0)
        yield (
            f'<g class="onset" data-place="{place}" data-note="{xml_text(note.id)}">'
            f'<path d="M{mm(x)} {mm(_TOP_MM)}V{mm(height)}" fill="none" '
            f'stroke="{INK_COLOUR}" stroke-width="0.3"/>'
        )
        if note.verdict in _SHAPES:
            yield shape(_SHAPES[note.verdict], min(max(x, 1.0), WIDTH_MM - 1.0), _TOP_MM / 2).svg
        yield "</g>"
    yield "</svg>"


def _outline(columns: list[float]) -> str:
    """The wave as one filled shape, the same above and below its middle line."""
    middle = _TOP_MM + _WAVE_MM / 2
    step = WIDTH_MM / len(columns)
    points = [((index + 0.5) * step, max(tall, 0.008) * _WAVE_MM / 2) for index, tall in enumerate(columns)]
    above = " ".join(f"{mm(x)} {mm(middle - tall)}" for x, tall in points)
    below = " ".join(f"{mm(x)} {mm(middle + tall)}" for x, tall in reversed(points))
    return f"M{above} {below}Z"
