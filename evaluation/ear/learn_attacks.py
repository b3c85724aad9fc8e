"""``python -m evaluation.ear.learn_attacks``: fit the small network that tells plucks from slurs.

Takes are drawn from the guitars that may be tuned on, under every corruption, with other seeds than the
evaluation's. Plain numpy; some minutes on one core.
"""

import sys
from pathlib import Path
from typing import Final

import numpy as np
import soxr
from evaluation.ear.drawing import toned
from evaluation.ear.guitars import RATE_HZ as TAKE_RATE_HZ
from evaluation.ear.guitars import TUNED_ON, Floats
from evaluation.ear.takes import CONDITIONS, Take, take
from numpy.typing import NDArray

from fretwright.ear.attacks import describe_attacks
from fretwright.ear.candidates import Candidates, find_candidates
from fretwright.ear.onsets import refined
from fretwright.ear.take import RATE_HZ

_WEIGHTS: Final = Path(__file__).parents[2] / "src" / "fretwright" / "ear" / "weights" / "attacks.npz"
_SEED: Final = 90_210
_NEAR_S: Final = 0.05


def examples(count: int, seed: int) -> tuple[Floats, Floats]:
    """Numbers of attacks, shape (n, attacks.COUNT), and 1 for each slur."""
    numbers, slurred = [], []
    for index in range(count):
        rng = np.random.default_rng([seed, index])
        condition = CONDITIONS[index % len(CONDITIONS)]
        guitar = TUNED_ON[int(rng.integers(len(TUNED_ON)))]
        faulty = bool(rng.random() < 0.7)
        one = take(condition, guitar, "crossfade", rng, faulty=faulty, name=str(index))
        toned_samples = toned(one.recorded.samples, rng).astype(np.float32)
        samples = soxr.resample(toned_samples, TAKE_RATE_HZ, RATE_HZ, quality="MQ")
        numbers.append(_attacks(one, samples, find_candidates(samples)))
        slurred.append(np.array([struck.slurred for struck in one.performance.struck], dtype=np.float64))
    return np.concatenate(numbers), np.concatenate(slurred)


def _attacks(one: Take, samples: NDArray[np.float32], found: Candidates) -> Floats:
    """Numbers of every attack, from the candidate nearest to it on, as the ear would take them."""
    struck = one.performance.struck
    onsets = np.array([each.onset_s + one.recorded.offset_s for each in struck])
    moments = found.times_s[np.abs(found.times_s[:, None] - onsets).argmin(axis=0)]
    moments = np.where(np.abs(moments - onsets) < _NEAR_S, moments, onsets)
    hertz = 440.0 * 2 ** ((np.array([each.midi for each in struck]) - 69 + one.guitar_cents / 100) / 12)
    refined_s, contrasts = refined(samples, moments, np.concatenate([[0.0], hertz[:-1]]))
    expected = one.performance.expected
    plucks = [
        each.expected is not None and not expected[each.expected].note.attack.is_slur for each in struck
    ]
    return describe_attacks(samples, refined_s, contrasts, np.array(plucks))


def main(count: int = 420) -> None:
    """Draw takes, fit, show how well it does on takes held back, and write the weights."""
    _fit(*examples(count, _SEED), *examples(42, _SEED + 1))


def _fit(x: Floats, y: Floats, held_x: Floats, held_y: Floats) -> None:
    """One hidden layer on the numbers of an attack; slurs and plucks weigh the same in all."""
    rng = np.random.default_rng(_SEED)
    mean, spread = x.mean(axis=0), x.std(axis=0) + 1e-3
    width = 12
    parameters = [
        rng.normal(0, 0.2, (x.shape[1], width)),
        np.zeros(width),
        rng.normal(0, 0.3, (width, 1)),
        np.zeros(1),
    ]
    moments = [[np.zeros_like(p), np.zeros_like(p)] for p in parameters]
    weight = np.where(y > 0, 0.5 / y.mean(), 0.5 / (1 - y.mean()))
    scaled = (x - mean) / spread
    for step in range(1, 1501):
        some = rng.integers(0, len(y), 512)
        hidden = np.maximum(scaled[some] @ parameters[0] + parameters[1], 0)
        chance = 1 / (1 + np.exp(-(hidden @ parameters[2] + parameters[3])[:, 0]))
        back = ((chance - y[some]) * weight[some] / len(some))[:, None]
        through = (back @ parameters[2].T) * (hidden > 0)
        gradients = (scaled[some].T @ through, through.sum(axis=0), hidden.T @ back, back.sum(axis=0))
        for parameter, gradient, moment in zip(parameters, gradients, moments, strict=True):
            moment[0] += 0.1 * (gradient - moment[0])
            moment[1] += 0.001 * (gradient**2 - moment[1])
            fixed = moment[0] / (1 - 0.9**step), moment[1] / (1 - 0.999**step)
            np.subtract(
                parameter, 3e-3 * (fixed[0] / (np.sqrt(fixed[1]) + 1e-8) + 1e-2 * parameter), out=parameter
            )
    first = parameters[0] / spread[:, None]
    bias = parameters[1] - mean @ first
    np.savez(_WEIGHTS, w0=first, b0=bias, w1=parameters[2], b1=parameters[3])
    hidden = np.maximum(held_x @ first + bias, 0)
    guess = (hidden @ parameters[2] + parameters[3])[:, 0] > 0
    right = (guess[held_y > 0].mean() + (~guess[held_y == 0]).mean()) / 2
    print(f"attacks: {int(y.sum())} slurs of {len(y)}; held back: balanced accuracy {right:.3f}", flush=True)


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
