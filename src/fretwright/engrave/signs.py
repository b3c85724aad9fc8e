"""Signs of technique in rows outside the lines: waves, dashed spans, words, hairpins, trills.

Over the tab stands what the hands do to the string: harmonics by their kind, vibrato, rakes, palm muting,
ringing. Over the staff stands what is heard as notes: trills, the octave of a harmonic that is written lower;
under it the swelling of a note. Neighbours that are asked for the same share one span.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from fretwright.engrave.glyphs import glyph
from fretwright.engrave.ink import Glyph, Ink, Layer, Line, Text, Trace, ink_of
from fretwright.engrave.marks import SIGN_FACE, SIGN_SIZE
from fretwright.engrave.pitches import ACCIDENTALS, clef_of, octaves_lower
from fretwright.engrave.placing import PlacedSystem
from fretwright.engrave.rows import x_at
from fretwright.engrave.skyline import Skyline
from fretwright.engrave.style import HEAD_WIDTH
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.techniques import HarmonicKind

_GAP: Final = 0.5
_DASH: Final = 0.75
_DASH_GAP: Final = 0.5
_DASH_LINE: Final = 0.11
_HOOK: Final = 0.55
_WAVE_LINE: Final = 0.17
_LEAST_SIGN: Final = 1.6
_BEFORE_NEXT: Final = 0.7
"""White between the end of a sign that lasts as long as its note and the next moment's axis."""
_BEFORE_BAR_LINE: Final = 0.5
_HALF: Final = HEAD_WIDTH / 2
_HARMONICS: Final = {HarmonicKind.ARTIFICIAL: "A.H.", HarmonicKind.PINCH: "P.H."}


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the line, and the first note of it."""

    left: float
    right: float
    count: int
    """How many moments it covers."""
    note: Note


def signs_over_tab(system: PlacedSystem, sky: Skyline, layer: Layer = "tab") -> list[Ink]:
    """Rows over the tab, from the nearest outwards."""
    drawn: list[Ink] = []
    words = [
        (Span(x - _HALF, x - _HALF, 1, note), _HARMONICS[note.techniques.harmonic.kind])
        for note, x in _struck(system)
        if note.techniques.harmonic is not None and note.techniques.harmonic.kind in _HARMONICS
    ]
    drawn += _row([(span, _word(text, span.left, "harmonic")) for span, text in _one_each(words)], sky, layer)
    rakes = [
        (Span(x - shape.beside.tab_left, x - _HALF, 1, note), "rake")
        for shape, x in system.moments
        for note, _ in shape.beside.rakes
    ]
    drawn += _row([(span, _word(text, span.left, "rake-word")) for span, text in rakes], sky, layer)
    waves = [
        (span, _wave(span, wide=bool(span.note.techniques.vibrato and span.note.techniques.vibrato.is_wide)))
        for span in _lasting(system, lambda note: note.techniques.vibrato is not None)
    ]
    drawn += _row(waves, sky, layer)
    for text, role, asked in (
        ("P.M.", "palm-mute", lambda note: note.techniques.palm_mute),
        ("let ring", "let-ring", lambda note: note.techniques.let_ring),
    ):
        drawn += _row([(span, _dashed(text, span, role)) for span in _spans(system, asked)], sky, layer)
    return drawn


def signs_over_staff(system: PlacedSystem, sky: Skyline, score: Score, layer: Layer) -> list[Ink]:
    """Trills and octave signs in rows."""
    trills = _lasting(system, lambda note: note.techniques.trill is not None)
    drawn = _row([(span, _trill(span, score)) for span in trills], sky, layer)
    if layer == "staff":
        clef = clef_of(score.neck)
        octaves = [
            (
                Span(x - _HALF, x, 1, note),
                "ottavaAlta" if octaves_lower(note, clef) == 1 else "quindicesimaAlta",
            )
            for note, x in _struck(system)
            if octaves_lower(note, clef)
        ]
        drawn += _row([(span, _octave(name, span.left)) for span, name in _one_each(octaves)], sky, layer)
    return drawn


def swells(system: PlacedSystem, sky: Skyline, layer: Layer) -> list[Ink]:
    """Hairpins that open from nothing, under the notes."""
    spans = _lasting(system, lambda note: note.techniques.swell)
    if not spans:
        return []
    left_of = [span.left for span in spans]
    y = max(sky.edge(left, span.right, 0.6, at_least=0.0) for left, span in zip(left_of, spans, strict=True))
    drawn: list[Ink] = []
    for span in spans:
        middle = y + _HAIRPIN / 2
        circle = Trace(_ring(span.left + 0.25, middle), 0.11, role="hairpin", note=span.note.id, layer=layer)
        x0 = span.left + 0.55
        drawn.append(circle)
        for side in (-1, 1):
            points = ((x0, middle), (max(span.right, x0 + 0.9), middle + side * _HAIRPIN / 2))
            drawn.append(Trace(points, 0.12, role="hairpin", note=span.note.id, layer=layer))
    sky.add_ink(drawn)
    return drawn


_HAIRPIN: Final = 1.1
"""Opening of a hairpin."""


def _ring(x: float, y: float) -> tuple[tuple[float, float], ...]:
    """A small circle: from nothing."""
    r, d = 0.22, 0.156
    return (
        (x + r, y), (x + d, y + d), (x, y + r), (x - d, y + d), (x - r, y), (x - d, y - d), (x, y - r),
        (x + d, y - d), (x + r, y),
    )  # fmt: skip


# rows ------------------------------------------------------------

_Maker = Callable[[float, Layer, str], list[Ink]]
"""From the height of the lower edge, the layer and the note to the ink."""


def _row(signs: Sequence[tuple[Span, "_Sign"]], sky: Skyline, layer: Layer) -> list[Ink]:
    """Signs on one line, as low as what stands under any of them allows; more lines where two would meet."""
    drawn: list[Ink] = []
    waiting = list(signs)
    while waiting:
        row: list[tuple[Span, _Sign]] = []
        later: list[tuple[Span, _Sign]] = []
        for span, sign in waiting:
            inside = sign.within(sky.width)
            free = not row or inside.left > row[-1][1].right + 0.3
            (row if free else later).append((span, inside))
        y = min(sky.edge(sign.left, sign.right, _GAP, at_least=-0.7) for _, sign in row)
        made = [
            ink.moved(sign.dx, 0.0) if sign.dx else ink
            for span, sign in row
            for ink in sign.make(y, layer, span.note.id)
        ]
        sky.add_ink(made)
        drawn += made
        waiting = later
    return drawn


@dataclass(frozen=True, slots=True)
class _Sign:
    """How far a sign reaches along the line, and how it is drawn."""

    left: float
    right: float
    make: _Maker
    dx: float = 0.0
    """How far it is moved, to stay on the plate."""

    def within(self, width: float) -> "_Sign":
        """The same sign, moved to the left where it would leave the plate."""
        over = min(0.0, width - self.right)
        return (
            replace(self, left=self.left + over, right=self.right + over, dx=self.dx + over) if over else self
        )


def _word(text: str, left: float, role: str) -> _Sign:
    box = ink_of(text, SIGN_FACE, SIGN_SIZE)

    def make(y: float, layer: Layer, note: str) -> list[Ink]:
        return [
            Text(
                text, SIGN_FACE, SIGN_SIZE, left, y - max(0.0, box.bottom), role=role, note=note, layer=layer
            )
        ]

    return _Sign(left, left + box.right, make)


def _octave(name: str, left: float) -> _Sign:
    scale = 0.7
    box = glyph(name).box_sp

    def make(y: float, layer: Layer, note: str) -> list[Ink]:
        return [Glyph(name, left, y - box[3] * scale, scale, role="octave", note=note, layer=layer)]

    return _Sign(left, left + box[2] * scale, make)


def _wave(span: Span, *, wide: bool) -> _Sign:
    """A wave as long as the note; a wide vibrato has the higher one."""
    height, period = (0.42, 1.15) if wide else (0.26, 0.85)
    right = max(span.right, span.left + _LEAST_SIGN)

    def make(y: float, layer: Layer, note: str) -> list[Ink]:
        middle = y - height - _WAVE_LINE
        count = max(2, round((right - span.left) / period))
        step = (right - span.left) / count / len(_SWING)
        points = [
            (span.left + (turn * len(_SWING) + place) * step, middle - height * lift)
            for turn in range(count)
            for place, lift in enumerate(_SWING)
        ]
        points.append((right, middle))
        return [Trace(tuple(points), _WAVE_LINE, role="vibrato", note=note, layer=layer)]

    return _Sign(span.left, right, make)


_SWING: Final = (0.0, 0.71, 1.0, 0.71, 0.0, -0.71, -1.0, -0.71)
"""One turn of a wave."""


def _dashed(text: str, span: Span, role: str) -> _Sign:
    """A word, and dashes to the end of the passage where it is longer than one moment."""
    box = ink_of(text, SIGN_FACE, SIGN_SIZE)
    word_right = span.left + box.right
    has_line = span.count > 1 and span.right - word_right > _DASH + 0.6
    right = span.right if has_line else word_right

    def make(y: float, layer: Layer, note: str) -> list[Ink]:
        base = y - max(0.0, box.bottom)
        ink: list[Ink] = [
            Text(text, SIGN_FACE, SIGN_SIZE, span.left, base, role=role, note=note, layer=layer)
        ]
        if has_line:
            level = base - 0.42
            x = word_right + 0.35
            while x + _DASH < right - 0.25:
                ink.append(Line(x, level, x + _DASH, level, _DASH_LINE, role=role, layer=layer))
                x += _DASH + _DASH_GAP
            end = right - _DASH_LINE / 2
            ink.append(
                Line(end, level - _HOOK / 2, end, level + _HOOK / 2, _DASH_LINE, role=role, layer=layer)
            )
        return ink

    return _Sign(span.left, right, make)


def _trill(span: Span, score: Score) -> _Sign:
    """tr, the accidental of the other note where the key has another one, and a wave."""
    scale = 0.85
    letters = glyph("ornamentTrill")
    trill = span.note.techniques.trill
    name = trill.pitch.name if trill is not None else None
    told = name is not None and name.alter != score.key.alter_of(name.letter)
    sign = ACCIDENTALS.get(name.alter) if told and name is not None else None
    right = span.left + letters.width_sp * scale
    sign_x = right + 0.1
    if sign:
        right = sign_x + glyph(sign).width_sp * 0.6
    wave_scale = 0.9
    step = glyph("wiggleTrill").advance / 250.0 * wave_scale
    count = max(0, int((span.right - right - 0.25) / step))
    wave_left, overlap = right + 0.3, 0.02

    def make(y: float, layer: Layer, note: str) -> list[Ink]:
        ink: list[Ink] = [Glyph("ornamentTrill", span.left, y, scale, role="trill", note=note, layer=layer)]
        if sign:
            ink.append(Glyph(sign, sign_x, y - 0.6, 0.6, role="trill", note=note, layer=layer))
        ink += [
            Glyph(
                "wiggleTrill", wave_left + index * (step - overlap), y + 0.2, wave_scale,
                role="trill-wave", note=note, layer=layer,
            )
            for index in range(count)
        ]  # fmt: skip
        return ink

    return _Sign(span.left, max(right, wave_left + count * step) + 0.15, make)


# what is asked where ------------------------------------------------------------


def _struck(system: PlacedSystem) -> Iterator[tuple[Note, float]]:
    for shape, x in system.moments:
        for head in reversed(shape.moment.heads):
            if not head.is_held:
                yield head.note, x


def _one_each(signs: Sequence[tuple[Span, str]]) -> list[tuple[Span, str]]:
    """Of those at one place that say the same, one."""
    return list({(span.left, text): (span, text) for span, text in signs}.values())


def _lasting(system: PlacedSystem, asked: Callable[[Note], bool]) -> list[Span]:
    """A span for each note that is asked, as long as it lasts; one for a chord."""
    found: dict[Fraction, Span] = {}
    for shape, x in system.moments:
        for head in shape.moment.heads:
            note = head.note
            if asked(note) and (not head.is_held or shape is system.moments[0][0]):
                right = _end_of(note, system)
                span = Span(x - _HALF, max(x + _HALF, right), 1, note)
                known = found.get(shape.moment.at)
                if known is None or known.right < span.right:
                    found[shape.moment.at] = span
    return _cut_short(sorted(found.values(), key=lambda span: span.left))


def _end_of(note: Note, system: PlacedSystem) -> float:
    """Where a sign that lasts as long as a note ends: before the next moment, or before its bar line."""
    for bar in system.bars:
        if bar.plan.content.bar.end == note.end:
            return bar.inner_right - _BEFORE_BAR_LINE
    if note.end > system.bars[-1].plan.content.bar.end:
        return system.bars[-1].inner_right
    return x_at(system, note.end) - _BEFORE_NEXT - _HALF


def _cut_short(spans: Sequence[Span]) -> list[Span]:
    """No span runs on under the next one."""
    nexts = [*(span.left for span in spans), float("inf")][1:]
    return [
        Span(span.left, max(span.left + 1.0, min(span.right, following - 0.5)), 1, span.note)
        for span, following in zip(spans, nexts, strict=True)
    ]


def _spans(system: PlacedSystem, asked: Callable[[Note], bool]) -> list[Span]:
    """Neighbouring moments that are all asked for the same; rests go along."""
    spans: list[Span] = []
    open_span: Span | None = None
    for shape, x in system.moments:
        if shape.moment.is_rest:
            continue
        notes = [head.note for head in shape.moment.heads if asked(head.note)]
        if not notes:
            if open_span is not None:
                spans.append(open_span)
            open_span = None
            continue
        right = x + max(shape.beside.tab_right, _HALF)
        if open_span is None:
            open_span = Span(x - _HALF, right, 1, notes[0])
        else:
            open_span = Span(open_span.left, right, open_span.count + 1, open_span.note)
    return [*spans, open_span] if open_span is not None else spans
