"""Draw the pictures in tests/data/plates anew: look at every one before they are committed.

python tools/plate_baselines.py
"""

import sys
from pathlib import Path

import resvg_py

TESTS = Path(__file__).parents[1] / "tests"
ZOOM = 1.1


def main() -> None:
    """Write one PNG for each plate of the gallery."""
    sys.path.insert(0, str(TESTS))
    from fretwright.engrave.plate import engrave  # noqa: PLC0415 - likewise
    from plate_gallery import GALLERY  # noqa: PLC0415 - the gallery lies beside the tests

    for name, (score, style) in GALLERY.items():
        plate = engrave(score, style)
        drawn = resvg_py.svg_to_bytes(svg_string=plate.svg, background="white", zoom=ZOOM)
        target = TESTS / "data" / "plates" / f"{name}.png"
        target.write_bytes(bytes(drawn))
        print(f"{target.name}: {target.stat().st_size} bytes")


if __name__ == "__main__":
    main()
