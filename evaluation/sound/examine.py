"""Each question that the evaluation asks, answered as rows of a table and a verdict."""

from collections.abc import Callable, Iterable, Iterator
from itertools import product
from math import pi

import numpy as np
from evaluation.sound import likeness, material, measure
from evaluation.sound.answer import Answer
from evaluation.sound.material import midi_at, neck_of, strings_of, undriven
from evaluation.sound.measure import RATE_HZ
from evaluation.sound.recorded import PROGRAMS, recorded_notes
from evaluation.sound.techniques import TECHNIQUES

from fretwright.base.units import midi_to_hz
from fretwright.score.note import Attack
from fretwright.score.values import EIGHTH, QUARTER
from fretwright.sound.instrument import Voice
from fretwright.sound.overdrive import overdrive
from fretwright.sound.render import render
from fretwright.sound.voices import ACOUSTIC_STEEL, BASS, CLEAN_ELECTRIC, NYLON, OVERDRIVEN_ELECTRIC, VOICES

_FRETS = range(23)


def _every_string() -> Iterator[tuple[Voice, int]]:
    """Each voice with each string of its neck; what is driven is heard through a clean amplifier.

    Behind a drive there is no reading off how a string decays, and difference tones of its stretched partials
    pull the lowest ones up by some cents, as they do in any overdriven amplifier.
    """
    for voice in VOICES.values():
        for string in strings_of(voice):
            yield undriven(voice), string


def pitch() -> Answer:
    """Sounding pitch of every place against equal temperament (ISO 16: A4 is 440 Hz)."""
    rows, worst, places = [], 0.0, 0
    for voice, string in _every_string():
        off: list[float] = []
        for fret in _FRETS:
            wanted = midi_to_hz(midi_at(voice, string, fret))
            note = material.long_note(voice, string, fret)[round(0.05 * RATE_HZ) : round(1.25 * RATE_HZ)]
            heard = (measure.peak_hz(note, wanted), measure.turning_hz(note, wanted))
            off.append(max((1200 * np.log2(hz / wanted) for hz in heard), key=abs))
        worst = max(worst, *map(abs, off))
        places += len(off)
        largest = max(off, key=abs)
        rows.append(
            (
                voice.name.value,
                str(string),
                f"{np.mean(off):+.2f}",
                f"{largest:+.2f}",
                str(off.index(largest)),
            )
        )
    return Answer(
        "Sounding pitch",
        "within ±1 cent on every string and fret 0-22, by both estimators",
        worst <= 1.0,
        f"largest error {worst:.2f} cents over {places} places",
        ("voice", "string", "mean, cents", "largest, cents", "at fret"),
        tuple(rows),
    )


def _t60_range_s(voice: Voice, string: int) -> tuple[float, float]:
    """Published decay times of open strings: low confidence, from memory, since they differ by instrument.

    Steel basses about 5 to 20 s; nylon trebles about 2 to 6 s, steel ones up to twice that and on a solid
    body to 15 s; wound nylon between the two (3 to 12 s).
    """
    if voice is BASS:
        return 5.0, 20.0
    is_low = string > len(strings_of(voice)) / 2
    if voice is NYLON:
        return (3.0, 12.0) if is_low else (2.0, 6.0)
    if is_low:
        return 5.0, 20.0
    return 2.0, 12.0 if voice is ACOUSTIC_STEEL else 15.0


_DEAD_SPOT_S = 1.0
"""Even a dead spot of a neck rings 1 to 3 s."""


def decay() -> Answer:
    """T60 of the fundamental, open and at the twelfth fret."""
    rows, reached = [], True
    for voice, string in _every_string():
        times = []
        for fret in (0, 5, 12):
            note = material.long_note(voice, string, fret)[round(0.05 * RATE_HZ) :]
            times.append(measure.t60_s(note, midi_to_hz(midi_at(voice, string, fret))))
        low, high = _t60_range_s(voice, string)
        reached &= low <= times[0] <= high and min(times) >= _DEAD_SPOT_S
        rows.append((voice.name.value, str(string), *(f"{time:.1f}" for time in times), f"{low:g}-{high:g}"))
    return Answer(
        "Decay",
        "T60 of each open string inside its published range; no place under 1 s",
        reached,
        "all inside" if reached else "some outside",
        ("voice", "string", "T60 open, s", "fret 5", "fret 12", "range, s"),
        tuple(rows),
    )


_NO_STIFFNESS = 1e-6


def stiffness() -> Answer:
    """Inharmonicity fitted to the partials of the rendered sound, against the stiff-string formula."""
    rows, worst = [], 0.0
    for (voice, string), fret in product(_every_string(), (0, 12)):
        hz = midi_to_hz(midi_at(voice, string, fret))
        note = material.long_note(voice, string, fret)[round(0.02 * RATE_HZ) : round(0.6 * RATE_HZ)]
        # On the thick strings of a bass partials are heard one by one up to about a kilohertz only.
        lowest_hz = 1000.0 if midi_to_hz(midi_at(voice, string)) < 80 else 2300.0
        heard, count = measure.inharmonicity(note, hz, min(8000.0, max(lowest_hz, 12 * hz)))
        wire = voice.wire_for(midi_at(voice, string))
        # Written out here and not taken from the model: B = pi^3 E d^4 / (64 T L^2), T = 4 mu L^2 f^2.
        length_m = neck_of(voice).scale_length_mm / 1000
        tension = 4 * wire.mass_kg_m * (length_m * midi_to_hz(midi_at(voice, string))) ** 2
        sounding_m = length_m / 2 ** (fret / 12)
        formula = pi**3 * wire.young_pa * (wire.core_mm / 1000) ** 4 / (64 * tension * sounding_m**2)
        # What is left of wound nylon's stiffness moves its twentieth partial by a third of a cent.
        if abs(heard - formula) > _NO_STIFFNESS:
            worst = max(worst, abs(heard / formula - 1))
        rows.append((voice.name.value, str(string), str(fret), f"{formula:.2e}", f"{heard:.2e}", str(count)))
    return Answer(
        "Inharmonicity",
        "B fitted to the sound within 10 % of the stiff-string formula, or within 1e-6",
        worst <= 0.10,
        f"largest deviation {100 * worst:.0f} %",
        ("voice", "string", "fret", "B by formula", "B heard", "partials heard"),
        tuple(rows),
    )


def _edge_db(voice: Voice) -> float:
    """How bright a slurred note may start: strings whose highs ring on keep those of the note before."""
    return 3.0 if voice in (OVERDRIVEN_ELECTRIC, BASS) else -6.0


def slurs() -> Answer:
    """Attack of a slurred note against the same note plucked, in the same place at the same level."""
    rows, reached = [], True
    cases = ((5, 7, Attack.HAMMER_ON), (7, 5, Attack.PULL_OFF), (5, 7, Attack.SLIDE))
    for voice, place, (first, second, slur) in product(VOICES.values(), (0, 2, -1), cases):
        string = strings_of(voice)[place]
        edges, bodies = [], []
        for attack in (Attack.PLUCK, slur):
            signal, at = material.two_notes(undriven(voice), string, (first, second), attack)
            bright = measure.above(signal, 1500.0)
            edges.append(measure.rms_db(bright[at : at + round(0.03 * RATE_HZ)]))
            bodies.append(measure.rms_db(signal[at + round(0.1 * RATE_HZ) : at + round(0.4 * RATE_HZ)]))
        edge, body = edges[1] - edges[0], bodies[1] - bodies[0]
        reached &= edge <= _edge_db(voice) and -14.0 <= body <= 1.0
        rows.append((voice.name.value, str(string), slur.value, f"{edge:+.1f}", f"{body:+.1f}"))
    return Answer(
        "Slurs",
        "first 30 ms above 1.5 kHz at least 6 dB under a pluck's (bass, overdriven: at most 3 dB over it); "
        "after that from 14 dB under it to 1 dB over it",
        reached,
        "all inside" if reached else "some outside",
        ("voice", "string", "slur", "attack, dB", "note after 100 ms, dB"),
        tuple(rows),
    )


def rests() -> Answer:
    """What is left in a rest, from 200 ms after the note's end to 10 ms before the next."""
    rows, worst = [], -200.0
    for (voice, string), fret in product(_every_string(), (0, 12)):
        items: list[material.Item] = [(string, fret, EIGHTH, Attack.PLUCK), EIGHTH, QUARTER]
        sound = render(material.line([*items, *items], 60, neck_of(voice)), voice=voice)
        size = np.abs(sound.samples).max(axis=1)
        first, second = sound.time_map
        start, stop = first.onset_s + first.duration_s + 0.2, second.onset_s - 0.01
        left = 20 * np.log10(size[round(start * RATE_HZ) : round(stop * RATE_HZ)].max() + 1e-10)
        worst = max(worst, left)
        rows.append((voice.name.value, str(string), str(fret), f"{left:.0f}"))
    return Answer(
        "Rests",
        "no sample above -60 dBFS in a rest",
        worst < -60.0,
        f"loudest {worst:.0f} dBFS",
        ("voice", "string", "fret", "loudest, dBFS"),
        tuple(rows),
    )


_TONES_HZ = (1319, 2637, 4699, 6400)
_DRIVES, _BIAS = (6.0, 24.0), 0.95
"""About the voice's own drive and four times that."""


def folding() -> Answer:
    """What an overdriven stage folds back: sines of 0.8 through its curve."""
    rows, loudest = [], -200.0
    for hz, drive in product(_TONES_HZ, _DRIVES):
        tone = 0.8 * np.sin(2 * np.pi * hz * np.arange(RATE_HZ) / RATE_HZ)
        u = drive * tone + _BIAS
        naive = u / np.sqrt(1 + u**2)
        ours = overdrive(tone, drive, _BIAS)
        bare, kept = (measure.folded_db(signal, hz) for signal in (naive, ours))
        loudest = max(loudest, kept)
        rows.append((f"{hz:g} Hz", f"{drive:.1f}", f"{bare:.0f}", f"{kept:.0f}"))
    return Answer(
        "Folding",
        "nothing but overtones of the tone below 16 kHz above -60 dB of it, up to four times the drive",
        loudest <= -60.0,
        f"at most {loudest:.0f} dB",
        ("tone", "drive", "the same curve at 48 kHz, dB", "ours, dB"),
        tuple(rows),
    )


_PLACES = {
    40: (6, 0), 43: (6, 3), 45: (5, 0), 48: (5, 3), 50: (4, 0), 53: (4, 3), 55: (3, 0), 57: (3, 2),
    59: (2, 0), 62: (2, 3), 64: (1, 0), 67: (1, 3), 69: (1, 5), 72: (1, 8), 76: (1, 12),
}  # fmt: skip
_BASS_PLACES = {
    28: (4, 0), 31: (4, 3), 33: (3, 0), 36: (3, 3), 38: (2, 0), 41: (2, 3), 43: (1, 0), 45: (1, 2),
    48: (1, 5), 52: (1, 9), 55: (1, 12),
}  # fmt: skip
"""Where each note of the likeness is played."""

_LIKENESSES = (
    (ACOUSTIC_STEEL, "steel", "nylon"),
    (CLEAN_ELECTRIC, "clean", "jazz"),
    (OVERDRIVEN_ELECTRIC, "overdriven", "distorted"),
    (NYLON, "nylon", "steel"),
    (BASS, "fingered bass", "picked bass"),
)
"""Each voice, the recorded instrument that it is held against, and another recorded one of that family."""


def _places(voice: Voice) -> dict[int, tuple[int, int]]:
    return _BASS_PLACES if voice is BASS else _PLACES


def _ours(voice: Voice) -> dict[int, likeness.Portrait]:
    return {
        midi: likeness.portrait(material.long_note(voice, *place), midi_to_hz(midi))
        for midi, place in _places(voice).items()
    }


def _recorded(name: str, keys: Iterable[int]) -> dict[int, likeness.Portrait]:
    return {
        midi: likeness.portrait(note, midi_to_hz(midi))
        for midi, note in recorded_notes(PROGRAMS[name], keys).items()
    }


def alike() -> Answer:
    """Distance of our voices to a recorded guitar of their family, against that between two recorded ones."""
    recorded = {name: _recorded(name, _places(voice)) for voice, *names in _LIKENESSES for name in names}
    rows, reached = [], True

    def row(left: str, right: str, distance: likeness.Distance, verdict: str) -> None:
        values = (distance.levels_db, distance.decays_db_s, distance.attack_db)
        rows.append((left, right, *(f"{value:.1f}" for value in values), verdict))

    for voice, name, other in _LIKENESSES:
        bar = likeness.distance(recorded[name], recorded[other])
        found = likeness.distance(_ours(voice), recorded[name])
        reached &= found.within(bar)
        row(f"recorded {name}", f"recorded {other}", bar, "the bar")
        row(f"our {voice.name}", f"recorded {name}", found, "within" if found.within(bar) else "beyond")
    for left, right in (("steel", "jazz"), ("steel", "clean"), ("nylon", "jazz"), ("nylon", "clean")):
        row(f"recorded {left}", f"recorded {right}", likeness.distance(recorded[left], recorded[right]), "")
    return Answer(
        "Likeness",
        "no further from the recorded guitar than another recorded guitar of its family, in each measure",
        reached,
        "all voices within" if reached else "beyond in some measure",
        ("guitar", "guitar", "partial levels, dB", "decays, dB/s", "attack spectrum, dB", ""),
        tuple(rows),
    )


QUESTIONS: tuple[Callable[[], Answer], ...] = (
    pitch,
    decay,
    stiffness,
    slurs,
    rests,
    *TECHNIQUES,
    folding,
    alike,
)
