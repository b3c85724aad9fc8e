"""The cautions that go with every product: strain of the hands, and loudness.

Advice of the trade and of clinics, not the outcome of trials: warm up, rest for five minutes in each
twenty to thirty, stop on pain or numbness (expert advice, from memory). The level follows the exposure
limits of NIOSH 98-126 (85 dBA for eight hours, half the time for each 3 dB more, from memory) in words
that need no meter.
"""

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution."""

    heading: str
    text: str
    """One or two sentences, for the page that shows it whole."""


CAUTIONS: Final = (
    Caution(
        "Warm up",
        "Begin each day with two or three minutes of slow, easy playing; cold hands strain sooner.",
    ),
    Caution(
        "Rest",
        "Put the guitar down for five minutes in every twenty to thirty. Short daily sessions teach more "
        "than one long one.",
    ),
    Caution(
        "Stop if it hurts",
        "Tired fingertips are usual at first. Pain, tingling or numbness in finger, hand, arm or neck is "
        "not: stop for the day, and see a doctor or physiotherapist if it comes back or does not pass.",
    ),
    Caution(
        "Keep it quiet",
        "On headphones, set the level low before the first note, and no louder than you could talk over. "
        "Ringing or dull ears mean it was too loud for too long.",
    ),
)
"""In the order in which a student meets them."""

SHORT_CAUTION: Final = (
    "Warm up first, rest five minutes in every twenty to thirty, and keep headphones low. "
    "Stop if anything hurts, tingles or goes numb; see a clinician if it does not pass."
)
"""The same in two sentences, for the head of a lesson."""
