"""Sets of strings, so that any tuning finds a gauge: open MIDI note, outer and core diameter in mm.

Gauges are common practice; cores are from memory but where a source is named.
"""

from typing import Final

from fretwright.sound.strings import Wire

Rows = tuple[tuple[int, float, float], ...]

_BASS: Final = ((23, 3.30, 0.95), (28, 2.67, 0.83), (33, 2.16, 0.72), (38, 1.65, 0.58), (43, 1.14, 0.44))
"""Of a long-necked bass. The core of the low E is such that its tenth partial lies about 100 cents sharp when
it is stopped at the twelfth fret, as Kemp (2020) measured; the others follow in proportion."""

_ACOUSTIC: Final = (
    (35, 1.727, 0.508),
    (40, 1.346, 0.457),
    (45, 1.067, 0.406),
    (50, 0.813, 0.356),
    (55, 0.610, 0.279),
    (59, 0.406, 0.406),
    (64, 0.305, 0.305),
    (69, 0.229, 0.229),
)
"""A .012-.053 set and its usual neighbours below and above."""

_ELECTRIC: Final = (
    (30, 1.880, 0.508),
    (35, 1.499, 0.457),
    (40, 1.168, 0.457),
    (45, 0.914, 0.406),
    (50, 0.660, 0.330),
    (55, 0.432, 0.432),
    (59, 0.330, 0.330),
    (64, 0.254, 0.254),
    (69, 0.203, 0.203),
)
"""A .010-.046 set and its usual neighbours."""

_NYLON_TREBLES: Final = ((55, 1.024, 1.024), (59, 0.818, 0.818), (64, 0.711, 0.711), (69, 0.600, 0.600))
_NYLON_BASSES: Final = ((35, 1.300, 0.500), (40, 1.090, 0.450), (45, 0.890, 0.420), (50, 0.740, 0.400))
"""A set of normal tension; the basses are threads wrapped in silvered copper."""

_NYLON_PA: Final = 6e9
"""Young's modulus of drawn nylon (from memory: 5 to 9 GPa)."""
_THREADS_PA: Final = 4e9
"""The same of a bundle of nylon threads, which bends more easily than a rod (from memory)."""
_NYLON_KG_M3: Final = 1140.0
_BRONZE_KG_M3: Final = 8800.0
_NICKEL_KG_M3: Final = 8900.0
_SILVERED_COPPER_KG_M3: Final = 8900.0


def _steel(rows: Rows, wrap_kg_m3: float) -> tuple[Wire, ...]:
    return tuple(Wire(midi, outer, core, wrap_kg_m3=wrap_kg_m3) for midi, outer, core in rows)


def _nylon(rows: Rows, young_pa: float) -> tuple[Wire, ...]:
    return tuple(
        Wire(midi, outer, core, young_pa, _NYLON_KG_M3, _SILVERED_COPPER_KG_M3) for midi, outer, core in rows
    )


ACOUSTIC_STRINGS: Final = _steel((*_BASS, *_ACOUSTIC), _BRONZE_KG_M3)
ELECTRIC_STRINGS: Final = _steel((*_BASS, *_ELECTRIC), _NICKEL_KG_M3)
BASS_STRINGS: Final = _steel((*_BASS, *_ELECTRIC), _NICKEL_KG_M3)
NYLON_STRINGS: Final = (
    *_steel(_BASS, _BRONZE_KG_M3),
    *_nylon(_NYLON_BASSES, _THREADS_PA),
    *_nylon(_NYLON_TREBLES, _NYLON_PA),
)
