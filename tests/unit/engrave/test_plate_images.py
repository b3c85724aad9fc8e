"""Whole plates against pictures that were looked at and approved.

After a change that is meant to be seen, look at the new pictures and run tools/plate_baselines.py.
"""

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import resvg_py
from PIL import Image

from fretwright.engrave.plate import engrave
from plate_gallery import GALLERY

PICTURES = Path(__file__).parents[2] / "data" / "plates"
ZOOM = 1.1


@pytest.mark.parametrize("name", sorted(GALLERY))
def test_a_plate_looks_as_approved(name: str) -> None:
    score, style = GALLERY[name]
    plate = engrave(score, style)
    approved = Image.open(PICTURES / f"{name}.png").convert("L")
    drawn = resvg_py.svg_to_bytes(svg_string=plate.svg, background="white", zoom=ZOOM)
    ours = np.asarray(Image.open(BytesIO(bytes(drawn))).convert("L"), dtype=np.int16)
    theirs = np.asarray(approved, dtype=np.int16)
    assert ours.shape == theirs.shape
    changed = np.abs(ours - theirs) > 64
    assert changed.mean() < 0.0005, f"{changed.sum()} pixels of {name} have changed"


def test_every_picture_belongs_to_a_plate() -> None:
    assert {path.stem for path in PICTURES.glob("*.png")} == set(GALLERY)


def test_a_moved_note_is_seen() -> None:
    """The tolerance above is no wider than one note head."""
    score, style = GALLERY["pentatonic"]
    svg = engrave(score, style).svg
    other = svg.replace('data-note="b1t0s6">', 'data-note="b1t0s6" transform="translate(0 0.875)">')
    pictures = []
    for text in (svg, other):
        drawn = resvg_py.svg_to_bytes(svg_string=text, background="white", zoom=ZOOM)
        pictures.append(np.asarray(Image.open(BytesIO(bytes(drawn))).convert("L"), dtype=np.int16))
    assert (np.abs(pictures[0] - pictures[1]) > 64).mean() > 0.0005
