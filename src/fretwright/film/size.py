"""How large a film is and how many pictures a second it has."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from fretwright.base.errors import UsageError
from fretwright.base.units import SAMPLE_RATE_HZ

SHAPES: Final[Mapping[str, tuple[int, int]]] = MappingProxyType(
    {"16:9": (16, 9), "1:1": (1, 1), "9:16": (9, 16)}
)
"""Width to height."""
RATES: Final = (25, 30, 60)
"""Pictures a second."""
LEAST_LINES: Final = 720
MOST_LINES: Final = 2160
_SMALLEST_PX: Final = 120


@dataclass(frozen=True, slots=True)
class FilmSize:
    """The measures of a film."""

    width: int
    """In pixels, even."""
    height: int
    """In pixels, even."""
    fps: int

    def __post_init__(self) -> None:
        if self.width % 2 or self.height % 2 or min(self.width, self.height) < _SMALLEST_PX:
            raise UsageError(
                f"A film of {self.width} by {self.height} pixels cannot be encoded.",
                f"Both sides must be even and at least {_SMALLEST_PX} pixels.",
            )
        if SAMPLE_RATE_HZ % self.fps:
            raise UsageError(
                f"{self.fps} pictures a second do not fall on whole samples of sound.",
                f"Use one of: {', '.join(map(str, RATES))}.",
            )

    @property
    def short_px(self) -> int:
        """The shorter side, from which all measures of the screen are taken."""
        return min(self.width, self.height)

    @property
    def samples_per_frame(self) -> int:
        """Samples of sound while one picture stands."""
        return SAMPLE_RATE_HZ // self.fps


def film_size(name: str, shape: str = "16:9", fps: int = 30) -> FilmSize:
    """The size called ``1080p`` in one of :data:`SHAPES`; the number counts the shorter side.

    Raises :class:`~fretwright.base.errors.UsageError` for a name, shape or rate that cannot be filmed.
    """
    digits = name.removesuffix("p")
    if not (name.endswith("p") and digits.isascii() and digits.isdigit()):
        raise UsageError(f'"{name}" is not a film size.', "Write the lines and a p: 720p, 1080p, 2160p.")
    lines = int(digits)
    if not LEAST_LINES <= lines <= MOST_LINES:
        raise UsageError(f"{name} is out of range.", f"Use {LEAST_LINES}p to {MOST_LINES}p.")
    if shape not in SHAPES:
        raise UsageError(f'"{shape}" is not a shape of film.', f"Use one of: {', '.join(SHAPES)}.")
    if fps not in RATES:
        raise UsageError(
            f"{fps} pictures a second are not offered.", f"Use one of: {', '.join(map(str, RATES))}."
        )
    wide, high = SHAPES[shape]
    long_side = lines * max(wide, high) / min(wide, high)
    if lines % 2 or long_side % 2:
        raise UsageError(
            f"{name} in {shape} would be {lines} by {long_side:g} pixels; video needs whole, even numbers.",
            "Use 720p, 1080p, 1440p or 2160p.",
        )
    width, height = (int(long_side), lines) if wide > high else (lines, int(long_side))
    return FilmSize(width, height, fps)
