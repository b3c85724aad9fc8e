"""``python -m evaluation.ear.chords.learn``: make the weights that judge strings and strokes.

Draws takes in processes side by side, then fits the networks of :mod:`fretwright.ear.string_odds` and
:mod:`fretwright.ear.strokes` in PyTorch, on a graphics card where there is one. The guitars that figures
are reported on are neither drawn nor looked at.
"""

import argparse
from collections.abc import Sequence
from functools import partial
from multiprocessing import Pool
from pathlib import Path
from typing import Final

import numpy as np
import torch
from evaluation.ear.chords.drawing import HELD_BACK, Material, drawn
from evaluation.ear.fitting import arrays_of
from torch import nn

from fretwright.ear.strokes import UNIT_S

Pair = tuple[np.ndarray, np.ndarray]
"""Numbers and answers."""
_WIDTHS: Final = (128, 48)
_BATCH: Final = 4096
_RATE: Final = 1e-3
_HELD_TAKES: Final = 200
_DECAY: Final = 2e-1
_LOOK_EVERY: Final = 1000
_DROPPED: Final = 0.2
_SEED: Final = 23


def draw(count: int, workers: int, seed: int = _SEED, guitars: Sequence[str] = ()) -> Material:
    """The strings of many takes."""
    with Pool(workers) as pool:
        parts = pool.map(partial(drawn, seed, guitars=tuple(guitars)), range(count), chunksize=4)
    return Material(
        np.concatenate([one.numbers for one in parts]),
        np.concatenate([one.sounds for one in parts]),
        np.concatenate([one.written for one in parts]),
        np.concatenate([one.faults for one in parts]),
        np.concatenate([one.strokes for one in parts]),
        np.concatenate([one.times_s for one in parts]),
    )


class Network(nn.Module):  # type: ignore[misc]  # PyTorch is not in the locks: to mypy its base is Any
    """Two hidden layers over the numbers of one string or stroke."""

    def __init__(self, numbers: torch.Tensor, answers: int) -> None:
        super().__init__()
        some = numbers[:: max(1, len(numbers) // 20_000)].float()
        self.mean, self.spread = nn.Buffer(some.mean(0)), nn.Buffer(some.std(0) + 1e-2)
        self.first = nn.Linear(numbers.shape[1], _WIDTHS[0])
        self.second = nn.Linear(_WIDTHS[0], _WIDTHS[1])
        self.last = nn.Linear(_WIDTHS[1], answers)
        self.dropped = nn.Dropout(_DROPPED)

    def forward(self, numbers: torch.Tensor) -> torch.Tensor:
        """Shape (rows, answers)."""
        hidden = self.dropped(torch.relu(self.first((numbers - self.mean) / self.spread)))
        return self.last(self.dropped(torch.relu(self.second(hidden))))

    def arrays(self) -> dict[str, np.ndarray]:
        """The weights as the ear wants them."""
        return arrays_of((self.first, self.second, self.last), self.mean, self.spread)


def fit_strings(material: Material, held: Material, steps: int) -> Network:
    """Whether each string sounds."""
    sounds, held_sounds = (one.sounds.astype(np.float32)[:, None] for one in (material, held))
    return _fitted((material.numbers, sounds), (held.numbers, held_sounds), nn.BCEWithLogitsLoss(), steps)


def fit_strokes(material: Material, held: Material, steps: int) -> Network:
    """Onset and spread of each stroke; the loss asks for the middle of what is likely."""
    times, held_times = (one.times_s / UNIT_S for one in (material, held))
    return _fitted((material.strokes, times), (held.strokes, held_times), nn.L1Loss(), steps)


def _fitted(learnt: Pair, held: Pair, loss_of: nn.Module, steps: int) -> Network:
    """Learn; the rate falls as a cosine to nothing, and what did best on ``held`` is kept."""
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(1)
    numbers, answers = (torch.from_numpy(one).to(device) for one in learnt)
    held_numbers, held_answers = (torch.from_numpy(one).to(device) for one in held)
    network: Network = Network(numbers, answers.shape[1]).to(device)
    optimiser = torch.optim.AdamW(network.parameters(), lr=_RATE, weight_decay=_DECAY)
    best, kept = float("inf"), network.state_dict()
    for step in range(1, steps + 1):
        for group in optimiser.param_groups:
            group["lr"] = _RATE * 0.5 * (1 + np.cos(np.pi * step / steps)) * min(1.0, step / 200)
        some = torch.randint(len(numbers), (_BATCH,), device=device)
        loss = loss_of(network(numbers[some].float()), answers[some])
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        optimiser.step()
        if step % _LOOK_EVERY:
            continue
        network.eval()
        with torch.no_grad():
            lost = float(loss_of(network(held_numbers.float()), held_answers))
        network.train()
        if lost < best:
            best, kept = lost, {name: value.clone() for name, value in network.state_dict().items()}
        print(f"step {step}, loss {float(loss.detach()):.4f}, held back {lost:.4f}", flush=True)
    network.load_state_dict(kept)
    return network


def main() -> None:
    """Draw and fit."""
    parser = argparse.ArgumentParser(prog="python -m evaluation.ear.chords.learn")
    parser.add_argument("--into", type=Path, default=Path("src/fretwright/ear/weights"))
    parser.add_argument("--takes", type=int, default=6000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--steps", type=int, default=8000)
    asked = parser.parse_args()
    held = draw(_HELD_TAKES, asked.workers, _SEED + 1, HELD_BACK)
    material = draw(asked.takes, asked.workers)
    for name, fit in (("strings", fit_strings), ("strokes", fit_strokes)):
        np.savez(asked.into / name, allow_pickle=False, **fit(material, held, asked.steps).arrays())


if __name__ == "__main__":
    main()
