"""What the contacts feed into their string."""

from collections.abc import Sequence
from itertools import pairwise
from math import sqrt
from typing import Final

import numpy as np

from fretwright.score.note import Attack
from fretwright.score.ornaments import Muting
from fretwright.sound import excitation
from fretwright.sound.arrays import Floats
from fretwright.sound.contacts import Contact, OpenString
from fretwright.sound.instrument import Voice
from fretwright.sound.slides import Slide, slide_before, slide_in, slide_out

_TAP_POINT_MM: Final = 60.0
"""A hammered finger moves the string over about this length before the fret."""
_TWO_HAND_TAP: Final = 2.0
"""A finger of the picking hand falls this much harder than one of the fretting hand."""
_SOFTER_IS_DULLER: Final = 0.4
"""A pluck of half the force takes 2 to the power of this as long to let go (Jaffe and Smith 1983 let dynamics
govern brightness; the amount is from memory)."""
_MUTED_CONTACT: Final = {Muting.NONE: 1.0, Muting.PALM: 1.6, Muting.DEAD: 1.3}
"""How much longer a pluck takes beside flesh."""
_PLAIN_SCRAPE_MS: Final = 4.0
_DEAD_SCRAPE_MS: Final = 20.0
_DEAD_SCRAPE: Final = 8.0
_DEAD_LOUDEST: Final = 0.6
"""What is left to hear of a dead string is mostly the pick: so many times as much of it as in a pluck, and at
most this part of the pluck itself."""


def track(string: OpenString, contacts: Sequence[Contact], voice: Voice, samples: int) -> Floats:
    """All that is fed into one string, shape (samples,)."""
    fed = np.zeros(samples)
    for before, contact in pairwise([contacts[0], *contacts]):
        _feed(fed, string, before, contact, voice)
    return fed


def _feed(fed: Floats, string: OpenString, before: Contact, contact: Contact, voice: Voice) -> None:
    """Add what one contact feeds into the string, coming from the one before it."""
    hands = voice.hands
    at, level = contact.onset, contact.level
    match contact.attack:
        case Attack.PLUCK:
            _pluck(fed, string, contact, voice)
        case Attack.HAMMER_ON | Attack.TAP:
            level *= hands.tap_level * (_TWO_HAND_TAP if contact.attack is Attack.TAP else 1.0)
            level /= sqrt(contact.touch.partial)
            excitation.add_push(fed, at, level, hands.tap_ms, string.echo(_TAP_POINT_MM))
        case Attack.PULL_OFF:
            length_mm = string.sounding_mm(contact.midi)
            flicked = string.echo(max(10.0, length_mm - string.sounding_mm(before.midi)))
            excitation.add_push(fed, at, level * hands.flick_level, hands.flick_ms, flicked)
        case Attack.SLIDE:
            pass
    for slide in (slide_before(before, contact), slide_in(contact), slide_out(contact)):
        if slide:
            _slide(fed, string, contact, slide, voice)


def _pluck(fed: Floats, string: OpenString, contact: Contact, voice: Voice) -> None:
    hands, touch = voice.hands, contact.touch
    length_mm = string.sounding_mm(contact.midi)
    # A harmonic is plucked where its own first partial is strongest, which is nearer to the bridge.
    point_mm = min(
        hands.point_mm, 0.45 * length_mm if touch.partial == 1 else length_mm / (2 * touch.partial)
    )
    level = contact.level / sqrt(touch.partial)
    contact_ms = hands.contact_ms * touch.force**-_SOFTER_IS_DULLER * _MUTED_CONTACT[touch.muting]
    excitation.add_push(fed, contact.onset, level, contact_ms, string.echo(point_mm))
    scrape, scrape_ms = level * hands.scrape_level, _PLAIN_SCRAPE_MS
    if contact.is_dead:
        scrape, scrape_ms = level * min(_DEAD_LOUDEST, _DEAD_SCRAPE * hands.scrape_level), _DEAD_SCRAPE_MS
    excitation.add_scrape(fed, contact.onset, scrape, scrape_ms, contact.onset)


def _slide(fed: Floats, string: OpenString, contact: Contact, slide: Slide, voice: Voice) -> None:
    """The bumps of a finger passing frets, and its squeak on a wound string."""
    hands, level = voice.hands, contact.level
    for step in slide.steps:
        bump = level * hands.bump_level
        excitation.add_push(fed, step.start, bump, hands.tap_ms, string.echo(_TAP_POINT_MM))
    if voice.wire_for(string.midi).is_wound:
        squeak = level * hands.squeak_level
        excitation.add_squeak(fed, slide.start, squeak, slide.length, contact.onset)
