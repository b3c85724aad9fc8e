from math import pi

import numpy as np
import pytest

from fretwright.base.errors import RenderError
from fretwright.sound.loop import Decay, LoopCoefficients, sections_for, tune_loop
from fretwright.sound.strings import partial_hz

RATE_HZ = 48_000


def loop_response(loop: LoopCoefficients, hz: float, sections: int) -> complex:
    """Transfer function of one round trip, written out from its definition."""
    z = np.exp(-2j * pi * hz / RATE_HZ)
    loss = loop.gain / (1 - loop.pole * z)
    allpass = (loop.dispersion + z) / (1 + loop.dispersion * z)
    return complex(z**loop.delay * loss * allpass**sections)


@pytest.mark.parametrize("hz", [82.407, 110.0, 329.628, 1174.659])
def test_a_round_trip_at_the_fundamental_is_one_whole_turn(hz: float) -> None:
    loop = tune_loop(hz, 6e-5, Decay(6.0, 2.0), 8)
    assert np.angle(loop_response(loop, hz, 8)) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("hz", "t60_s", "gain"), [(82.407, 8.0, 0.98958), (329.63, 4.0, 0.99477)])
def test_the_gain_of_a_round_trip_gives_the_decay(hz: float, t60_s: float, gain: float) -> None:
    """g = 10 ** (-3 / (f0 T60)), as Karjalainen, Valimaki and Tolonen (1998) use it."""
    loop = tune_loop(hz, 5e-5, Decay(t60_s, 1.5), 8)
    assert abs(loop_response(loop, hz, 8)) == pytest.approx(gain, abs=1e-5)
    assert abs(loop_response(loop, 3000.0, 8)) == pytest.approx(10 ** (-3 / (hz * 1.5)), abs=1e-5)


def test_the_loop_bends_partials_as_a_stiff_string_does() -> None:
    hz, b = 82.407, 6e-5
    sections = sections_for(hz)
    loop = tune_loop(hz, b, Decay(8.0, 3.0), sections)
    for number in range(2, 29):
        stiff = partial_hz(hz, b, number)
        turn = np.angle(loop_response(loop, stiff, sections)) / (2 * pi)
        # The loop's own partial lies where the phase is a whole turn; one turn is one fundamental.
        off_cents = 1200 * np.log2(1 + turn * hz / stiff)
        assert abs(off_cents) < 3.0


def test_a_pitch_beyond_the_loop_is_refused() -> None:
    with pytest.raises(RenderError):
        tune_loop(6000.0, 1e-4, Decay(1.0, 0.5), 4)
