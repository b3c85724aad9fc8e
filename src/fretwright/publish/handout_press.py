"""The press of the handouts: one JSON value in, one tagged PDF out.

Typst sets the page from the templates of the ``typst`` folder. The templates are the only source it
compiles, and they can read nothing but themselves: prose, pictures and numbers reach them as one JSON
value whose strings are shown as they stand, so that no text of a teacher's can become a command.

The PDF follows PDF/UA-1 (ISO 14289-1): tagged, titled, with its language and an alternative text for
every picture; a document that breaks the standard is refused. It carries a fixed time, so that the same
input gives the same bytes.
"""

import json
import unicodedata
from collections.abc import Mapping
from functools import cache, lru_cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Any, Final

import typst
from fontTools.ttLib import TTFont

from fretwright.base.errors import RenderError
from fretwright.engrave.outlines import Face

Json = dict[str, Any]

_STANDARD: Final = "ua-1"
_EPOCH_S: Final = 946_684_800
"""Time written into every document: the start of the year 2000, UTC."""
_MOST_PROBES: Final = 500
_UNSEEN: Final = frozenset({"Cc", "Cf", "Co", "Cs", "Cn", "Mn", "Me"})
"""Categories of signs that are nothing by themselves: controls, private and lone ones, marks on letters."""
_PROBE: Final = b"""
#set document(title: "probe")
#set text(font: ("Literata", "Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"), fallback: false)
#sys.inputs.at("text")
"""
_PICTURE_PROBE: Final = b"""
#set document(title: "probe")
#image(bytes(json(bytes(sys.inputs.at("picture")))), alt: "picture")
"""


def press(document: Json, template: str = "handout.typ") -> bytes:
    """Set a document with one of our templates.

    Raises :class:`~fretwright.base.errors.RenderError` where it cannot be set.
    """
    with as_file(files("fretwright.publish") / "typst") as folder:
        source = (folder / template).read_bytes()
        return _compiled(source, {"data": json.dumps(document, ensure_ascii=False)}, folder)


def printable(text: str) -> str:
    """The text with every sign that no face of ours can show put into words, or left out if it is unseen.

    An emoji becomes its name in brackets (``[guitar]``); a letter of a script that we carry no face for
    becomes a question mark in brackets.
    """
    return "".join(_printable_sign(sign) for sign in unicodedata.normalize("NFC", text))


def _printable_sign(sign: str) -> str:
    if ord(sign) in _own_signs() or sign in "\n\t":
        return sign
    name = unicodedata.name(sign, "?").lower()
    if unicodedata.category(sign) in _UNSEEN or name.startswith("emoji modifier"):
        return ""
    if unicodedata.category(sign).startswith("Z"):
        return " "
    if _shown_by_typst(sign):
        return sign
    is_picture = unicodedata.category(sign).startswith("S")
    return f"[{name}]" if is_picture else "[?]"


@cache
def _own_signs() -> frozenset[int]:
    """Signs that the regular serif and sans both carry; the other cuts of the two carry the same."""
    fonts = files("fretwright.engrave") / "fonts"
    maps = []
    for face in (Face.SERIF, Face.SANS):
        with as_file(fonts / f"{face.value}.ttf") as path, TTFont(path) as font:
            maps.append(frozenset(font.getBestCmap()))
    seen = maps[0] & maps[1]
    return frozenset(code for code in seen if unicodedata.category(chr(code)) not in {"Cc", "Cf", "Zl", "Zp"})


@lru_cache(maxsize=_MOST_PROBES)
def _shown_by_typst(sign: str) -> bool:
    """Whether a face that comes with typst shows a sign that ours lack."""
    try:
        _compiled(_PROBE, {"text": sign}, None)
    except RenderError:
        return False
    return True


@lru_cache(maxsize=_MOST_PROBES)
def is_readable_picture(picture: bytes) -> bool:
    """Whether typst can set these bytes as a picture (PNG, JPEG, GIF, WebP or SVG)."""
    try:
        _compiled(_PICTURE_PROBE, {"picture": json.dumps(list(picture))}, None)
    except RenderError:
        return False
    return True


def _compiled(source: bytes, inputs: Mapping[str, str], root: Path | None) -> bytes:
    try:
        # A compiler is used once: it would take a second call for another document.
        compiler = typst.Compiler(source, root=root, font_paths=_fonts(), sys_inputs=dict(inputs))
        pdf = compiler.compile(format="pdf", pdf_standards=[_STANDARD], timestamp=_EPOCH_S)
    except typst.TypstError as error:
        raise RenderError(f"The handout cannot be set: {error.message}.", " ".join(error.hints)) from error
    if not isinstance(pdf, bytes):
        raise RenderError("The handout cannot be set: typst gave no document.")
    return pdf


@cache
def _fonts() -> typst.Fonts:
    with as_file(files("fretwright.engrave") / "fonts") as folder:
        return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[folder])
