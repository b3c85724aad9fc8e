"""``python -m evaluation.ear.train``: fit the small network that judges pitches, and write its weights.

Takes are drawn from the guitars that may be tuned on, under every corruption, with other seeds than the
evaluation's; tone and drive are varied widely so that no guitar's own sound is learnt. Plain numpy; about
five minutes on one core.
"""

import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Final

import numpy as np
import soxr
from evaluation.ear.guitars import RATE_HZ as TAKE_RATE_HZ
from evaluation.ear.guitars import TUNED_ON, Floats
from evaluation.ear.takes import CONDITIONS, Take, take
from numpy.typing import NDArray

from fretwright.ear.attacks import describe_attacks
from fretwright.ear.candidates import Candidates, at_moments, find_candidates
from fretwright.ear.features import COUNT, HIGHEST_MIDI, LOWEST_MIDI, PITCHES, describe, tuning_of
from fretwright.ear.onsets import refined
from fretwright.ear.take import RATE_HZ

Array = NDArray[np.float32]
_WEIGHTS = Path(__file__).parents[2] / "src" / "fretwright" / "ear" / "weights" / "pitches.npz"
_SEED: Final = 90_210
_HIDDEN: Final = (48, 24)
_NEAR_S: Final = 0.05
_NONE: Final = PITCHES


def toned(take_samples: Floats, rng: np.random.Generator) -> Floats:
    """The take through another body, pickup and amplifier: a smooth random equaliser and some drive."""
    out = take_samples
    if rng.random() < 0.3:
        drive = 10 ** rng.uniform(0, 1.3)
        out = np.tanh(out * drive) / np.tanh(drive)
    spectrum = np.fft.rfft(out)
    hertz = np.maximum(np.fft.rfftfreq(len(out), 1 / TAKE_RATE_HZ), 20)
    knots = np.linspace(np.log(60), np.log(16_000), 9)
    gain_db = np.interp(np.log(hertz), knots, rng.normal(0, 6, len(knots)))
    toned_samples: Floats = np.fft.irfft(spectrum * 10 ** (gain_db / 20), len(out))
    toned_samples *= 0.6 / np.abs(toned_samples).max()
    return toned_samples


def material(count: int, seed: int) -> Iterator[Take]:
    """Takes to learn from."""
    for index in range(count):
        rng = np.random.default_rng([seed, index])
        condition = CONDITIONS[index % len(CONDITIONS)]
        guitar = TUNED_ON[int(rng.integers(len(TUNED_ON)))]
        # a hand that rests on the strings: from a light touch to a thud
        damped_s = float(10 ** rng.uniform(-1.6, 0)) if rng.random() < 0.4 else np.inf
        faulty = bool(rng.random() < 0.7)
        yield take(condition, guitar, "crossfade", rng, faulty=faulty, name=str(index), damped_s=damped_s)


def examples(count: int, seed: int) -> tuple[Array, NDArray[np.int64], Floats, Floats]:
    """Numbers and labels of all candidates, then of all attacks.

    Shape (n, PITCHES, COUNT) and the index of the pitch, or none; (m, attacks.COUNT) and 1 for a slur.
    """
    xs, ys, attacks, slurred = [], [], [], []
    for one in material(count, seed):
        rng = np.random.default_rng([seed, 7, int(one.name)])
        samples = soxr.resample(
            toned(one.samples, rng).astype(np.float32), TAKE_RATE_HZ, RATE_HZ, quality="MQ"
        )
        found = find_candidates(samples)
        numbers = describe(samples, found, tuning_of(samples, found.times_s))
        label = np.full(len(found.times_s), _NONE)
        kept = np.ones(len(label), dtype=bool)
        for struck in one.performance.struck:
            away = found.times_s - (struck.onset_s + one.offset_s)
            near = np.flatnonzero(np.abs(away) < _NEAR_S)
            if not len(near):
                continue
            # the strongest of those about the onset is the note's; its neighbours say neither yes nor no
            strength = np.maximum(found.rise[near], found.change[near]) - 8 * np.abs(away[near] - 0.006)
            best = near[int(np.argmax(strength))]
            kept[near] = False
            kept[best] = True
            label[best] = struck.midi - LOWEST_MIDI if LOWEST_MIDI <= struck.midi <= HIGHEST_MIDI else _NONE
        more, more_label = _between(one, found, rng)
        extra_numbers = describe(samples, more, tuning_of(samples, found.times_s), found)
        xs.append(extra_numbers.astype(np.float16))
        ys.append(more_label)
        attacks.append(_attacks(one, samples, found))
        slurred.append(np.array([struck.slurred for struck in one.performance.struck], dtype=np.float64))
        xs.append(numbers[kept].astype(np.float16))
        ys.append(label[kept])
    return np.concatenate(xs), np.concatenate(ys), np.concatenate(attacks), np.concatenate(slurred)


def _between(one: Take, found: Candidates, rng: np.random.Generator) -> tuple[Candidates, NDArray[np.int64]]:
    """Moments that no detector named: some at slurs, some where nothing starts."""
    slurs = [struck for struck in one.performance.struck if struck.slurred and struck.midi <= HIGHEST_MIDI]
    at_slurs = np.array([struck.onset_s + one.offset_s for struck in slurs])
    at_slurs += rng.uniform(-0.008, 0.012, len(slurs))
    anywhere = rng.uniform(0.2, len(one.samples) / TAKE_RATE_HZ - 0.3, 40)
    onsets = np.array([struck.onset_s + one.offset_s for struck in one.performance.struck])
    anywhere = anywhere[np.abs(anywhere[:, None] - onsets).min(axis=1) > _NEAR_S]
    label = np.concatenate([[struck.midi - LOWEST_MIDI for struck in slurs], np.full(len(anywhere), _NONE)])
    return at_moments(found, np.concatenate([at_slurs, anywhere])), label.astype(np.int64)


def _attacks(one: Take, samples: Array, found: Candidates) -> Floats:
    """Numbers of every attack, from the candidate nearest to it on, as the ear would take them."""
    struck = one.performance.struck
    onsets = np.array([each.onset_s + one.offset_s for each in struck])
    moments = found.times_s[np.abs(found.times_s[:, None] - onsets).argmin(axis=0)]
    moments = np.where(np.abs(moments - onsets) < _NEAR_S, moments, onsets)
    hertz = 440.0 * 2 ** ((np.array([each.midi for each in struck]) - 69 + one.guitar_cents / 100) / 12)
    refined_s, contrasts = refined(samples, moments, np.concatenate([[0.0], hertz[:-1]]))
    expected = one.performance.expected
    plucks = [
        each.expected is not None and not expected[each.expected].note.attack.is_slur for each in struck
    ]
    return describe_attacks(samples, refined_s, contrasts, np.array(plucks))


class Network:
    """Two hidden layers, one score per pitch, against nothing's score of 0."""

    def __init__(self, rng: np.random.Generator) -> None:
        sizes = (COUNT, *_HIDDEN, 1)
        self.weights = [
            rng.normal(0, np.sqrt(2 / fan_in), (fan_in, fan_out)).astype(np.float32)
            for fan_in, fan_out in pairwise(sizes)
        ]
        self.biases = [np.zeros(size, np.float32) for size in sizes[1:]]
        self.biases[-1][:] = -4.0
        self.moments = [[np.zeros_like(p), np.zeros_like(p)] for p in (*self.weights, *self.biases)]
        self.steps = 0

    def scores(self, x: Array) -> tuple[Array, list[Array]]:
        """Scores, shape (n, PITCHES + 1), and what the layers held."""
        held = [x.reshape(-1, COUNT)]
        for weight, bias in zip(self.weights[:-1], self.biases[:-1], strict=True):
            held.append(np.maximum(held[-1] @ weight + bias, 0))
        last = held[-1] @ self.weights[-1] + self.biases[-1]
        return np.concatenate([last.reshape(len(x), -1), np.zeros((len(x), 1), np.float32)], axis=1), held

    def learn(self, x: Array, y: NDArray[np.int64], rate: float) -> float:
        """One step of Adam on the cross-entropy; its value."""
        scores, held = self.scores(x)
        scores -= scores.max(axis=1, keepdims=True)
        chance = np.exp(scores)
        chance /= chance.sum(axis=1, keepdims=True)
        rows = np.arange(len(y))
        loss = float(-np.log(chance[rows, y] + 1e-9).mean())
        chance[rows, y] -= 1
        back = (chance[:, :-1] / len(y)).reshape(-1, 1)
        gradients_w: list[Array] = []
        gradients_b: list[Array] = []
        for layer in range(len(self.weights) - 1, -1, -1):
            gradients_w.insert(0, (held[layer].T @ back).astype(np.float32))
            gradients_b.insert(0, back.sum(axis=0).astype(np.float32))
            if layer:
                back = (back @ self.weights[layer].T) * (held[layer] > 0)
        self.steps += 1
        parameters = (*self.weights, *self.biases)
        for parameter, gradient, moment in zip(
            parameters, (*gradients_w, *gradients_b), self.moments, strict=True
        ):
            moment[0] += 0.1 * (gradient - moment[0])
            moment[1] += 0.001 * (gradient**2 - moment[1])
            fixed = moment[0] / (1 - 0.9**self.steps), moment[1] / (1 - 0.999**self.steps)
            np.subtract(
                parameter, rate * (fixed[0] / (np.sqrt(fixed[1]) + 1e-8) + 1e-4 * parameter), out=parameter
            )
        return loss


def main(count: int = 420, rounds: int = 24) -> None:
    """Draw takes, fit, show how well it does on takes held back, and write the weights."""
    x, y, attacks, slurred = examples(count, _SEED)
    held_x, held_y, held_attacks, held_slurred = examples(42, _SEED + 1)
    _fit_attacks(attacks, slurred, held_attacks, held_slurred)
    mean, spread = (
        x.reshape(-1, COUNT)[::97].astype(np.float32).mean(0),
        x.reshape(-1, COUNT)[::97].astype(np.float32).std(0) + 1e-3,
    )
    rng = np.random.default_rng(_SEED)
    network = Network(rng)
    print(f"{len(y)} candidates, {np.mean(y != _NONE):.2f} of them notes", flush=True)
    for turn in range(rounds):
        order, losses = rng.permutation(len(y)), []
        for start in range(0, len(y) - 255, 256):
            some = np.sort(order[start : start + 256])
            rate = 2e-3 * 0.5 * (1 + np.cos(np.pi * (turn + start / len(y)) / rounds))
            losses.append(network.learn((x[some].astype(np.float32) - mean) / spread, y[some], rate))
        if turn % 4 == 3 or turn == rounds - 1:
            scores, _ = network.scores((held_x.astype(np.float32) - mean) / spread)
            picked = scores.argmax(axis=1)
            notes = held_y != _NONE
            print(
                f"round {turn + 1}: loss {np.mean(losses):.4f}; held back: "
                f"pitch right {np.mean(picked[notes] == held_y[notes]):.4f}, "
                f"nothing right {np.mean(picked[~notes] == _NONE):.4f}",
                flush=True,
            )
    # the scaling of the numbers goes into the first layer
    first = network.weights[0] / spread[:, None]
    bias = network.biases[0] - mean @ first
    _WEIGHTS.parent.mkdir(exist_ok=True)
    np.savez(
        _WEIGHTS,
        w0=first,
        b0=bias,
        w1=network.weights[1],
        b1=network.biases[1],
        w2=network.weights[2],
        b2=network.biases[2],
    )


def _fit_attacks(x: Floats, y: Floats, held_x: Floats, held_y: Floats) -> None:
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
    _WEIGHTS.parent.mkdir(exist_ok=True)
    np.savez(_WEIGHTS.with_name("attacks.npz"), w0=first, b0=bias, w1=parameters[2], b1=parameters[3])
    hidden = np.maximum(held_x @ first + bias, 0)
    guess = (hidden @ parameters[2] + parameters[3])[:, 0] > 0
    right = (guess[held_y > 0].mean() + (~guess[held_y == 0]).mean()) / 2
    print(f"attacks: {int(y.sum())} slurs of {len(y)}; held back: balanced accuracy {right:.3f}", flush=True)


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
