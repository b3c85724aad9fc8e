"""What a string is made of, and the physics that follows from it.

Plain strings are steel (or nylon) wire; wound ones a core that bears the tension and a wrap that adds
mass. Everything the model needs follows from diameters and densities:

* mass per length of a wrap: wire of diameter w laid turn beside turn on a core of diameter c has, per
  unit of string, a wire length of pi (c + w) / w, hence a mass of pi^2 rho w (c + w) / 4 (geometry);
* tension T = 4 mu L^2 f^2;
* inharmonicity B = pi^3 E d^4 / (64 T L^2) with the core's diameter d, for partials at
  f_n = n f sqrt(1 + B n^2) (stiff string with pinned ends: Fletcher, H. (1964), "Normal vibration
  frequencies of a stiff piano string", J. Acoust. Soc. Am. 36, 203-209).

Gauges are common practice; core diameters of wound strings are from memory.
"""

from dataclasses import dataclass
from math import pi, sqrt
from typing import Final

_M_PER_MM: Final = 1e-3


@dataclass(frozen=True, slots=True)
class Wire:
    """One gauge of string."""

    open_midi: int
    """The open note that this gauge is made for; a string takes the gauge nearest to its tuning."""
    diameter_mm: float
    core_mm: float
    """Diameter of the core; equal to ``diameter_mm`` for a plain string."""
    young_pa: float = 200e9
    """Young's modulus of the core: 200 GPa for music wire."""
    core_kg_m3: float = 7850.0
    wrap_kg_m3: float = 8800.0
    """Density of the wrap: 8,800 for bronze, 8,900 for nickel."""

    @property
    def is_wound(self) -> bool:
        """Whether there is a wrap, which makes a moving finger squeak."""
        return self.core_mm < self.diameter_mm

    @property
    def mass_kg_m(self) -> float:
        """Mass per unit length."""
        core_m = self.core_mm * _M_PER_MM
        wrap_m = (self.diameter_mm - self.core_mm) / 2 * _M_PER_MM
        core = self.core_kg_m3 * pi * core_m**2 / 4
        return core + pi**2 * self.wrap_kg_m3 * wrap_m * (core_m + wrap_m) / 4

    def tension_n(self, open_hz: float, length_m: float) -> float:
        """Tension in newtons that brings an open string of a length to a pitch."""
        return 4 * self.mass_kg_m * length_m**2 * open_hz**2

    def inharmonicity(self, open_hz: float, length_m: float, sounding_m: float | None = None) -> float:
        """Coefficient B of the stiff string, open or stopped at a sounding length."""
        tension = self.tension_n(open_hz, length_m)
        sounding = length_m if sounding_m is None else sounding_m
        return pi**3 * self.young_pa * (self.core_mm * _M_PER_MM) ** 4 / (64 * tension * sounding**2)


def partial_hz(fundamental_hz: float, inharmonicity: float, number: int) -> float:
    """Frequency of a partial of a stiff string whose first partial sounds at ``fundamental_hz``."""
    return number * fundamental_hz * sqrt((1 + inharmonicity * number**2) / (1 + inharmonicity))
