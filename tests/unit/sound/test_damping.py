"""What lies on a string, and that it is off again when the string is plucked."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fretwright.score.ornaments import Muting, Touch
from fretwright.sound.contacts import Contact
from fretwright.sound.damping import damping

LET_GO_BY = 24
"""Samples after its onset by which a pluck has left the string."""


@st.composite
def plucks(draw: st.DrawFn) -> list[Contact]:
    """Plucks of one string, each held for some part of the time to the next."""
    at, contacts = draw(st.integers(0, 5_000)), []
    for gap in draw(st.lists(st.integers(96, 30_000), min_size=2, max_size=8)):
        held = draw(st.integers(LET_GO_BY, gap + 2_000))
        touch = Touch(
            string=1,
            midi=draw(st.integers(40, 86)),
            at_s=at / 48_000,
            until_s=(at + held) / 48_000,
            muting=draw(st.sampled_from([Muting.NONE, Muting.NONE, Muting.PALM, Muting.DEAD])),
        )
        contacts.append(Contact(touch, at, at + held))
        at += gap
    return contacts


@given(plucks())
def test_every_pluck_finds_its_string_as_free_as_it_leaves_it(contacts: list[Contact]) -> None:
    rows = damping(contacts, contacts[-1].onset + 48_000)

    times, factors = zip(*rows, strict=True)
    assert list(times) == sorted(set(times))
    for contact in contacts:
        asked = 0.03 if contact.is_dead else 1.0
        assert np.interp(contact.onset + LET_GO_BY, times, factors) == pytest.approx(asked)
