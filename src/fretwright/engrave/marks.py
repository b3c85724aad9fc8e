"""Faces and sizes of the letters and digits of a plate, in staff spaces."""

from typing import Final

from fretwright.engrave.outlines import Face

CHORD_FACE: Final = Face.SERIF_BOLD
CHORD_SIZE: Final = 2.3
TEXT_FACE: Final = Face.SERIF_ITALIC
TEXT_SIZE: Final = 2.0
LETTER_FACE: Final = Face.SERIF_ITALIC
"""H and P over their arcs."""
LETTER_SIZE: Final = 1.35
LETTER_ROOM: Final = 1.3
"""White between two slurred fret numbers, so that the letter stands over an arc."""
FINGER_FACE: Final = Face.SANS
FINGER_SIZE: Final = 1.45
NUMBER_FACE: Final = Face.SANS
NUMBER_SIZE: Final = 1.4
"""Bar numbers and the numbers of endings."""
BEND_FACE: Final = Face.SANS
"""How far a bend goes, over its arrow."""
BEND_SIZE: Final = 1.45
SIGN_FACE: Final = Face.SERIF_ITALIC
"""P.M., let ring, A.H. and the like."""
SIGN_SIZE: Final = 1.45
LYRIC_FACE: Final = Face.SERIF
LYRIC_SIZE: Final = 1.9
PICKING_FACE: Final = Face.SERIF_ITALIC
"""p i m a over the tab."""
PICKING_SIZE: Final = 1.7
