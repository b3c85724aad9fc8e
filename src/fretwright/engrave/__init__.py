"""Engraving: a score enters, a plate leaves.

Enters: a :class:`~fretwright.score.score.Score`, fingers and strokes already found.
Leaves: SVG text whose every glyph and letter is an outline, and the box of every note in millimetres.

Signs, their origins and their line thicknesses follow SMuFL 1.4; the rules of setting are those of the
engraver's trade (common practice, no source, unless a module names one).
"""
