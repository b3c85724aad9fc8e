"""Skills of single notes: bends, vibrato, harmonics and all else that is asked beyond their pitch."""

from collections.abc import Callable, Iterator, Mapping
from typing import Final

from fretwright.score.held import voicings_of
from fretwright.score.note import Note
from fretwright.score.score import Score
from fretwright.score.techniques import HarmonicKind, Techniques


def _has_harmonic(kind: HarmonicKind) -> Callable[[Techniques], bool]:
    return lambda asked: asked.harmonic is not None and asked.harmonic.kind is kind


_SHOWN: Final[Mapping[str, Callable[[Techniques], bool]]] = {
    "bend": lambda asked: asked.bend is not None,
    "pre-bend": lambda asked: asked.bend is not None and asked.bend.starts_bent,
    "bend and release": lambda asked: asked.bend is not None and asked.bend.is_released,
    "vibrato": lambda asked: asked.vibrato is not None,
    "natural harmonics": _has_harmonic(HarmonicKind.NATURAL),
    "artificial harmonics": _has_harmonic(HarmonicKind.ARTIFICIAL),
    "pinch harmonics": _has_harmonic(HarmonicKind.PINCH),
    "trill": lambda asked: asked.trill is not None,
    "tremolo picking": lambda asked: asked.tremolo is not None,
    "slide": lambda asked: bool(asked.slide_in or asked.slide_out or asked.shift_slide),
    "grace notes": lambda asked: bool(asked.graces),
    "rake": lambda asked: asked.rake is not None,
    "rolled chords": lambda asked: asked.roll is not None,
    "palm mute": lambda asked: asked.palm_mute,
    "ghost notes": lambda asked: asked.ghost,
    "staccato": lambda asked: asked.staccato,
    "volume swell": lambda asked: asked.swell,
}
"""How each skill shows in what is asked of a note."""
_SHOWN_IN_LINES: Final[Mapping[str, Callable[[Techniques], bool]]] = {
    "let ring": lambda asked: asked.let_ring,
    "dead notes": lambda asked: asked.dead,
    "accents": lambda asked: asked.accent,
}
"""Those that are part of strumming and picking where a hand plays from chords."""

TECHNIQUE_SKILLS: Final = (*_SHOWN, *_SHOWN_IN_LINES, "two voices", "fingerpicking")
_OTHER_WORDS: Final = {
    "bending": "bend", "string bending": "bend", "bends and releases": "bend and release",
    "palm muting": "palm mute", "muted notes": "dead notes", "tapping": "tap", "trilling": "trill",
    "harmonics": "natural harmonics", "tremolo": "tremolo picking", "raking": "rake",
    "swells": "volume swell", "volume swells": "volume swell", "sliding": "slide", "shift slide": "slide",
    "fingerstyle": "fingerpicking", "vibratos": "vibrato", "wide vibrato": "vibrato",
    "rolls": "rolled chords", "roll": "rolled chords", "arpeggiated chords": "rolled chords",
    "prebend": "pre-bend", "ringing": "let ring",
}  # fmt: skip
"""What teachers also call them."""


def technique_skill(words: str) -> str | None:
    """The technique that a teacher's words mean where they are not its own name: ``palm muting``."""
    return _OTHER_WORDS.get(" ".join(words.lower().split()))


def technique_skills(score: Score) -> Iterator[str]:
    """What the notes of a score ask beyond their pitch and their attack."""
    shown = dict(_SHOWN) if voicings_of(score) else {**_SHOWN, **_SHOWN_IN_LINES}
    for name, shows in shown.items():
        if any(shows(note.techniques) for note in score.notes):
            yield name
    if any(note.voice > 1 for note in score.notes):
        yield "two voices"
    if any(note.picking_finger is not None for note in score.notes):
        yield "fingerpicking"


def is_technique(note: Note) -> bool:
    """Whether a note is more than plucked: bent, shaken, trilled, a harmonic ..."""
    return any(shows(note.techniques) for shows in _SHOWN.values())
