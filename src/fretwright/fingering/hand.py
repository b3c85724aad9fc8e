"""The fretting hand that a score is fingered for: the sizes and spreads of :mod:`fretwright.fretboard.reach`.

Chord voicings are searched for with the same hand, and the fretboard may not look up to this folder, so the
measures lie there.
"""

from fretwright.fretboard.reach import HANDS, LARGE, MEDIUM, REFERENCE_SPAN_MM, SMALL, Hand, Spread

__all__ = ["HANDS", "LARGE", "MEDIUM", "REFERENCE_SPAN_MM", "SMALL", "Hand", "Spread"]
