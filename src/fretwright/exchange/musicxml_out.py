"""A score as MusicXML 4.0.

One part. Its pitches are the sounding ones, under the clef that players of the instrument read; string, fret,
finger and stroke of each note are technical signs beside it, and every note and rest carries its id. Frets
are counted from the capo, as tab counts them.

What the standard has no element for (the exercise's id, the named scale and position, the neck's measures)
travels in the file's own miscellaneous fields, where other programs leave it alone.
"""

from math import lcm
from typing import Final
from xml.etree.ElementTree import Element

from fretwright import __version__
from fretwright.exchange.pieces import bars_of_voices
from fretwright.exchange.programs import program_of
from fretwright.exchange.slurs import slur_ends
from fretwright.exchange.xmlbars import BarWriter, signs_of
from fretwright.exchange.xmlnotes import NoteWriter, Staff
from fretwright.exchange.xmlout import add, document
from fretwright.score.score import Score, Writing

FIELD: Final = "fretwright-"
"""How the names of our own miscellaneous fields begin."""
_TAB_VOICE: Final = 5
"""First voice of a second staff, as is usual in files with several staves."""


def write_musicxml(score: Score, *, tab_staff: bool = False) -> bytes:
    """The score as a MusicXML 4.0 file in UTF-8; the same bytes each time.

    With ``tab_staff`` a tab stands under the staff and repeats its notes. The standard's word for such a
    staff says that it is not played; a reader that does not know the word sounds each note twice.
    """
    root = Element("score-partwise", version="4.0")
    add(add(root, "work"), "work-title", score.title)
    _identification(root, score)
    part_list = add(root, "part-list")
    _instrument(add(part_list, "score-part", id="P1"), score)
    part = add(root, "part", id="P1")
    writer = BarWriter(score, _writers(score, tab_staff=tab_staff))
    for index, content in enumerate(bars_of_voices(score)):
        writer.write(part, index, content)
    return document(root)


def _writers(score: Score, *, tab_staff: bool) -> tuple[NoteWriter, ...]:
    divisions = lcm(*((time * 4).denominator for time in signs_of(score)))
    slurs = slur_ends(score)
    staves = (Staff(1), Staff(2, is_tab=True, voice=_TAB_VOICE)) if tab_staff else (Staff(),)
    return tuple(NoteWriter(divisions, staff, slurs) for staff in staves)


def _identification(root: Element, score: Score) -> None:
    identification = add(root, "identification")
    encoding = add(identification, "encoding")
    add(encoding, "software", f"Fretwright {__version__}")
    add(encoding, "supports", element="accidental", type="yes")
    add(encoding, "supports", element="beam", type="yes")
    own = add(identification, "miscellaneous")
    neck = score.neck
    fields = {
        "exercise": score.name,
        "scale": score.scale.name if score.scale else None,
        "position": score.position,
        "frets": neck.frets,
        "scale-length-mm": repr(neck.scale_length_mm),
        "writing": None if score.writing is Writing.NOTES else score.writing.value,
        "air-strokes": ", ".join(f"{air.at} {air.stroke.value}" for air in score.air_strokes) or None,
    }
    for name, value in fields.items():
        if value is not None:
            add(own, "miscellaneous-field", value, name=f"{FIELD}{name}")


def _instrument(part: Element, score: Score) -> None:
    program = program_of(score.neck)
    add(part, "part-name", program.name)
    instrument = add(part, "score-instrument", id="P1-I1")
    add(instrument, "instrument-name", program.name)
    midi = add(part, "midi-instrument", id="P1-I1")
    add(midi, "midi-channel", 1)
    # The standard counts programs from 1, the wire from 0.
    add(midi, "midi-program", program.number + 1)
