"""Making XML: a few words on top of the standard library's element tree."""

from typing import Final
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from fretwright.theory.pitch import NoteName, Pitch

_HEAD: Final = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">\n'
)
"""As the standard asks for; the address is a name, which nothing here ever opens."""


def add(parent: Element, tag: str, text: object = None, **attributes: object) -> Element:
    """Append an element with text and attributes; a ``_`` in an attribute's name stands for ``-``."""
    named = {name.strip("_").replace("_", "-"): str(value) for name, value in attributes.items()}
    child = SubElement(parent, tag, named)
    if text is not None:
        child.text = _printable(str(text))
    return child


def add_pitch(parent: Element, pitch: Pitch, prefix: str = "") -> None:
    """Append step, alter and octave, each with a prefix: ``tuning-step``."""
    _add_name(parent, pitch.name, prefix)
    add(parent, f"{prefix}octave", pitch.octave)


def add_name(parent: Element, tag: str, name: NoteName) -> None:
    """Append a root or bass note of a chord name."""
    _add_name(add(parent, tag), name, f"{tag}-")


def _add_name(parent: Element, name: NoteName, prefix: str) -> None:
    add(parent, f"{prefix}step", name.letter)
    if name.alter:
        add(parent, f"{prefix}alter", name.alter)


def document(root: Element) -> bytes:
    """The whole file, indented, with the head of a partwise score."""
    indent(root, space=" ")
    return (_HEAD + tostring(root, encoding="unicode") + "\n").encode()


def _printable(text: str) -> str:
    """Text without the characters that XML 1.0 cannot hold at all."""
    return "".join(
        sign
        for sign in text
        if sign in "\t\n\r" or "\x20" <= sign <= "\ud7ff" or "\ue000" <= sign <= "\ufffd" or sign > "\uffff"
    )
