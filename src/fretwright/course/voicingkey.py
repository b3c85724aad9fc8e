"""``voicings``: chords held as the teacher says, and the others as the search finds them."""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from fretwright.base.errors import FretwrightError
from fretwright.base.spans import Span
from fretwright.course.entries import Entry
from fretwright.course.notebook import Notebook, quoted
from fretwright.fretboard.chart_voicings import chart_voicings
from fretwright.fretboard.neck import Neck
from fretwright.fretboard.voicing import THUMB, Frets, Voicing, parse_frets
from fretwright.fretboard.voicings import voicing_of
from fretwright.theory.chord import Chord

MOST_CHORDS: Final = 48
"""No chart has more different chords."""

_VOICING = re.compile(
    r"(?P<chord>[A-G][^\s,]*)\s+(?P<frets>[xX0-9][xX0-9 \-]*?)(?:\s*\((?P<fingers>[xX0-4tT]+)\))?"
)
_MEND: Final = (
    "Write a chord and its frets from the lowest string up, such as G 320003, and its fingers in brackets "
    "where they matter: G 320003 (210003)."
)


def read_voicings(entry: Entry | None, neck: Neck, notebook: Notebook) -> dict[Chord, Voicing]:
    """The voicings that a teacher fixed, with findings for those that cannot be held."""
    found: dict[Chord, Voicing] = {}
    for part in entry.parts() if entry is not None else ():
        match = _VOICING.fullmatch(" ".join(part.text.split()))
        if match is None:
            notebook.error("bad-value", part, f"{quoted(part.text)} is no chord with its frets.", _MEND)
            continue
        try:
            chord = Chord.parse(match["chord"])
        except FretwrightError as error:
            notebook.refused("unknown-chord", part, error)
            continue
        try:
            frets = parse_frets(match["frets"])
        except FretwrightError as error:
            notebook.refused("bad-value", part, error)
            continue
        voicing = _held(chord, frets, match["fingers"], neck, part, notebook)
        if voicing is not None:
            found[chord] = voicing
    return found


def _held(
    chord: Chord, frets: Frets, fingers_text: str | None, neck: Neck, part: Span, notebook: Notebook
) -> Voicing | None:
    fingers = None
    if fingers_text is not None:
        signs = fingers_text.lower()[::-1]
        fingers = tuple(THUMB if sign == "t" else 0 if sign == "x" else int(sign) for sign in signs)
    try:
        return voicing_of(chord, frets, neck, fingers=fingers)
    except FretwrightError as error:
        notebook.refused("chord-cannot-be-held", part, error)
        return None


def held_chords(
    chords: Sequence[tuple[Chord, Span]],
    fixed: dict[Chord, Voicing],
    neck: Neck,
    position: int | None,
    notebook: Notebook,
) -> dict[Chord, Voicing] | None:
    """A voicing for every chord of a chart, or None with findings."""
    distinct = list(dict.fromkeys(chord for chord, _ in chords))
    if len(distinct) > MOST_CHORDS:
        message = f"The chart has more than {MOST_CHORDS} different chords."
        notebook.error("exercise-too-long", chords[0][1], message, "Split it into several charts.")
        return None
    playable = dict(_playable(chords, fixed, neck, notebook))
    if len(playable) < len(distinct):
        return None
    return chart_voicings([chord for chord, _ in chords], neck, fixed=fixed, position=position)


def _playable(
    chords: Sequence[tuple[Chord, Span]], fixed: dict[Chord, Voicing], neck: Neck, notebook: Notebook
) -> Iterator[tuple[Chord, Span]]:
    """Each chord once that can be held at all."""
    for chord, span in dict(reversed(chords)).items():
        try:
            if chord not in fixed:
                chart_voicings([chord], neck)
            yield chord, span
        except FretwrightError as error:
            notebook.refused("chord-cannot-be-held", span, error)
