"""Letters and lengths of the diagrams: what fretboards and chords write in the same way."""

import re
from dataclasses import dataclass
from typing import Final
from xml.sax.saxutils import escape

from fretwright.base.errors import RenderError
from fretwright.engrave.ink import Box, ink_of
from fretwright.engrave.outlines import Face, text_outline

_ID: Final = re.compile(r"[A-Za-z_][\w.-]*")
_UNPRINTABLE: Final = re.compile(r"[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(frozen=True, slots=True)
class Letters:
    """A word or number in its place."""

    role: str
    """Its class in the SVG."""
    text: str
    face: Face
    size_mm: float
    x_mm: float
    """Left end of the base line."""
    y_mm: float

    @property
    def box(self) -> Box:
        """Its ink."""
        return ink_of(self.text, self.face, self.size_mm).moved(self.x_mm, self.y_mm)

    def svg(self, ink: str | None = None) -> str:
        """Its outline as a path, filled with ``ink`` or with what stands around it."""
        path = text_outline(self.text, self.face, self.size_mm).path
        fill = f' fill="{ink}"' if ink else ""
        at = f"translate({mm(self.x_mm)} {mm(self.y_mm)})"
        return f'<path class="{self.role}"{fill} transform="{at}" d="{path}"/>'


def mm(value: float) -> str:
    """A coordinate to a hundredth of a millimetre, in the fewest characters."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def xml_text(words: str) -> str:
    """Words that any XML reader takes, whatever was typed."""
    return escape(_UNPRINTABLE.sub(" ", words))


def require_id(prefix: str) -> None:
    """Raise :class:`~fretwright.base.errors.RenderError` where ids cannot start with ``prefix``."""
    if not _ID.fullmatch(prefix):
        raise RenderError(f"{prefix!r} cannot start an id.", "Use letters, digits, hyphens and dots.")
