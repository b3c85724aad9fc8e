from math import pi

import pytest

from fretwright.sound.strings import Wire, partial_hz
from fretwright.sound.voices import ACOUSTIC_STEEL, CLEAN_ELECTRIC

INCH_MM = 25.4


@pytest.mark.parametrize(
    ("open_hz", "inches", "b", "tension_n"),
    [
        (329.628, 0.009, 1.1e-5, 58.8),
        (329.628, 0.010, 1.3e-5, 72.6),
        (329.628, 0.012, 1.9e-5, 104.5),
        (246.942, 0.013, 4.0e-5, 68.9),
        (246.942, 0.016, 6.0e-5, 104.3),
        (195.998, 0.017, 1.1e-4, 74.2),
    ],
)
def test_plain_steel_follows_the_published_formulas(
    open_hz: float, inches: float, b: float, tension_n: float
) -> None:
    """Computed from the formulas of Fletcher (1964) for 648 mm and E = 200 GPa, two digits."""
    wire = Wire(64, inches * INCH_MM, inches * INCH_MM)
    assert wire.tension_n(open_hz, 0.648) == pytest.approx(tension_n, rel=0.01)
    assert wire.inharmonicity(open_hz, 0.648) == pytest.approx(b, rel=0.05)


def test_stiffness_grows_fourfold_at_half_the_length() -> None:
    wire = Wire(64, 0.305, 0.305)
    assert wire.inharmonicity(329.6, 0.648, 0.324) == pytest.approx(4 * wire.inharmonicity(329.6, 0.648))


def test_a_wrap_adds_mass_and_no_stiffness() -> None:
    wound, core = Wire(40, 1.346, 0.457), Wire(40, 0.457, 0.457)
    assert wound.mass_kg_m > 4 * core.mass_kg_m
    # A solid bronze tube of the same outer size holds more metal than round turns can.
    tube = core.mass_kg_m + 8800 * pi * ((1.346e-3) ** 2 - (0.457e-3) ** 2) / 4
    assert 0.75 * tube < wound.mass_kg_m < tube
    assert wound.inharmonicity(82.4, 0.648) < core.inharmonicity(82.4, 0.648)


@pytest.mark.parametrize("voice", [ACOUSTIC_STEEL, CLEAN_ELECTRIC], ids=lambda voice: voice.name)
@pytest.mark.parametrize(
    ("midi", "hz"), [(40, 82.407), (45, 110), (50, 146.832), (55, 195.998), (64, 329.628)]
)
def test_strings_pull_as_hard_as_guitar_strings_do(voice: object, midi: int, hz: float) -> None:
    """Makers' tables give 60 to 150 N a string for these sets (from memory)."""
    wire = ACOUSTIC_STEEL.wire_for(midi) if voice is ACOUSTIC_STEEL else CLEAN_ELECTRIC.wire_for(midi)
    assert 55 < wire.tension_n(hz, 0.648) < 155


def test_partials_stretch_and_the_first_stays() -> None:
    assert partial_hz(110.0, 1e-4, 1) == pytest.approx(110.0)
    assert partial_hz(110.0, 0.0, 7) == pytest.approx(770.0)
    assert partial_hz(110.0, 1e-4, 20) > 20 * 110.0
