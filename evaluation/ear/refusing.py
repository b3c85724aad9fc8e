"""Takes that must be refused, and takes that must not."""

import numpy as np
import soxr
from evaluation.ear.guitars import RATE_HZ as TAKE_RATE_HZ
from evaluation.ear.guitars import REPORTED_ON
from evaluation.ear.scoring import ready
from evaluation.ear.takes import Take as KnownTake
from evaluation.ear.takes import take
from evaluation.reporting import Row, yes

from fretwright.ear.arrays import Samples
from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Refusal, Take, examined
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline

_SEED = 31


def refusals(count: int) -> list[Row]:
    """Rows of the table of bars: the wrong exercise, babble, silence and noise."""
    kinds = {
        "another exercise": _another,
        "speech-like babble": babble,
        "noise": _noise,
        "silence": _silence,
    }
    rows: list[Row] = []
    for title, kind in kinds.items():
        refused = 0
        for index in range(count):
            rng = np.random.default_rng([_SEED, len(title), index])
            known = take("plain", REPORTED_ON[index % len(REPORTED_ON)], "jump", rng, faulty=False, name="")
            refused += _is_refused(known, kind(known, rng))
        rows.append((f"refuses {title}", "all", f"{refused} of {count}", yes(reached=refused == count)))
    return rows


def _is_refused(known: KnownTake, samples: Samples) -> bool:
    checked = examined(Take(samples))
    if isinstance(checked, Refusal):
        return True
    ladder = Ladder(known.performance.bpm, known.performance.bpm)
    return isinstance(listen(checked, timeline(known.performance.score), ladder), Refusal)


def _another(known: KnownTake, rng: np.random.Generator) -> Samples:
    """Some other exercise, well played on the same guitar."""
    other = ready(take("plain", known.guitar, "jump", rng, faulty=False, name="").recorded)
    assert isinstance(other, Take)  # noqa: S101 - it goes through no file
    return other.samples


def babble(known: KnownTake, rng: np.random.Generator) -> Samples:
    """A buzzing source through moving resonances, in syllables: what a voice is to the ear, without words."""
    count = len(known.recorded.samples)
    time = np.arange(count) / TAKE_RATE_HZ
    pitch = 120 * 2 ** (0.25 * np.sin(2 * np.pi * 0.7 * time) + 0.1 * np.sin(2 * np.pi * 2.3 * time))
    phase = 2 * np.pi * np.cumsum(pitch) / TAKE_RATE_HZ
    syllables = np.clip(np.sin(2 * np.pi * 3.4 * time + rng.uniform(0, 6)), 0, 1) ** 0.5
    voice = np.zeros(count)
    for partial in range(1, 24):
        shape = sum(
            np.exp(-(((partial * pitch - formant * (1 + 0.2 * np.sin(2 * np.pi * rate * time))) / 150) ** 2))
            for formant, rate in ((500, 1.1), (1400, 0.9), (2500, 0.6))
        )
        voice += shape * np.sin(partial * phase)
    voice = voice * syllables + rng.normal(size=count) * 0.02
    mono: Samples = soxr.resample(
        (0.3 * voice / np.abs(voice).max()).astype(np.float32), TAKE_RATE_HZ, RATE_HZ
    )
    return mono


def _noise(known: KnownTake, rng: np.random.Generator) -> Samples:
    return (rng.normal(size=len(known.recorded.samples) // 2) * 0.05).astype(np.float32)


def _silence(known: KnownTake, rng: np.random.Generator) -> Samples:
    return (rng.normal(size=len(known.recorded.samples) // 2) * 1e-5).astype(np.float32)
