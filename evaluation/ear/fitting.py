"""Fitting the network that judges pitches: the same layers as :mod:`fretwright.ear.pitches`, in PyTorch.

Two losses are added. For single lines, cross-entropy over "this pitch starts" and "nothing starts", whose
score is held at 0 so that a pitch's score is its odds; for chords, one yes or no for every pitch.
"""

import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import numpy as np
import torch
from evaluation.ear.drawing import NOTHING
from evaluation.ear.train import read_file
from torch import nn

from fretwright.ear.features import COUNT, PITCHES, RATIOS, WINDOWS, pitch_places
from fretwright.ear.pitches import RELATED

_OWN: Final = (96, 48)
_TOLD: Final = 6
_LAST: Final = 48
_BATCH: Final = 2048
_RATE: Final = 2e-3
_HELD_BACK_FILES: Final = 4
_AMONG_WEIGHT: Final = 8.0


class Network(nn.Module):  # type: ignore[misc]  # PyTorch is not in the locks: to mypy its base is Any
    """Layers for one pitch, and what related pitches tell it."""

    def __init__(self, mean: torch.Tensor, spread: torch.Tensor) -> None:
        super().__init__()
        self.mean, self.spread = nn.Buffer(mean), nn.Buffer(spread)
        self.first = nn.Linear(COUNT, _OWN[0])
        self.second = nn.Linear(_OWN[0], _OWN[1])
        self.tell = nn.Linear(_OWN[1], _TOLD)
        self.third = nn.Linear(_OWN[1] + len(RELATED) * _TOLD, _LAST)
        self.last = nn.Linear(_LAST, 2)
        nn.init.constant_(self.last.bias, -4.0)

    def forward(self, numbers: torch.Tensor) -> torch.Tensor:
        """Scores, shape (moments, PITCHES, 2), from numbers (moments, PITCHES, COUNT)."""
        own = torch.relu(self.first((numbers - self.mean) / self.spread))
        own = torch.relu(self.second(own))
        told = self.tell(own)
        reach = max(RELATED)
        padded = nn.functional.pad(told, (0, 0, reach, reach))
        heard = [padded[:, reach + step : reach + step + PITCHES] for step in RELATED]
        hidden = torch.relu(self.third(torch.cat([own, *heard], dim=2)))
        return self.last(hidden)

    def arrays(self) -> dict[str, np.ndarray]:
        """The weights as the ear wants them."""
        layers = (self.first, self.second, self.tell, self.third, self.last)
        return arrays_of(layers, self.mean, self.spread)


def arrays_of(layers: Sequence[nn.Linear], mean: torch.Tensor, spread: torch.Tensor) -> dict[str, np.ndarray]:
    """Weights of a network; the scaling of the numbers that go into it goes into its first layer."""
    out = {}
    for index, layer in enumerate(layers):
        weight, bias = layer.weight.detach().T.double(), layer.bias.detach().double()
        if index == 0:
            weight = weight / spread.double()[:, None]
            bias = bias - mean.double() @ weight
        out[f"w{index}"] = weight.float().cpu().numpy()
        out[f"b{index}"] = bias.float().cpu().numpy()
    return out


class Material:
    """Readings and labels on the device that learns."""

    def __init__(self, files: Sequence[Path], device: torch.device) -> None:
        moments = [read_file(path) for path in files]
        self.levels = torch.cat([torch.from_numpy(one.readings.levels).to(device) for one in moments])
        self.shared = torch.cat([torch.from_numpy(one.readings.shared).to(device) for one in moments])
        self.alone = torch.cat([torch.from_numpy(one.alone).to(device) for one in moments])
        self.among = torch.cat([torch.from_numpy(one.among[:, :PITCHES]).to(device) for one in moments])
        self._places = torch.from_numpy(pitch_places()).to(device)

    def __len__(self) -> int:
        return len(self.alone)

    def numbers(self, some: torch.Tensor) -> torch.Tensor:
        """As :func:`fretwright.ear.features.by_pitch`."""
        levels = self.levels[some].float()
        read = levels[:, :, self._places.reshape(-1)].reshape(len(some), len(WINDOWS), PITCHES, len(RATIOS))
        by_pitch = read.transpose(1, 2).reshape(len(some), PITCHES, -1)
        shared = self.shared[some][:, None, :].expand(-1, PITCHES, -1)
        return torch.cat([by_pitch, shared], dim=2)


def fit(files: Sequence[Path], out: Path, until_s: float) -> None:
    """Learn until the time is up; the rate falls as a cosine to nothing at its end."""
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(1)
    held, learnt = Material(files[:_HELD_BACK_FILES], device), Material(files[_HELD_BACK_FILES:], device)
    some = learnt.numbers(torch.randint(len(learnt), (4096,), device=device)).reshape(-1, COUNT)
    network = Network(some.mean(0), some.std(0) + 1e-3).to(device)
    print(f"{len(learnt)} moments, {float((learnt.alone < NOTHING).float().mean()):.3f} notes", flush=True)
    optimiser = torch.optim.AdamW(network.parameters(), lr=_RATE, weight_decay=1e-3)
    began, step = time.time(), 0
    while (gone := (time.time() - began) / until_s) < 1:
        for group in optimiser.param_groups:
            group["lr"] = _RATE * 0.5 * (1 + np.cos(np.pi * gone)) * min(1.0, (step + 1) / 200)
        some = torch.randint(len(learnt), (_BATCH,), device=device)
        loss = _loss(network, learnt, some)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        optimiser.step()
        step += 1
        if step % 1000 == 0:
            print(f"step {step}, loss {float(loss.detach()):.4f}; {_told(network, held)}", flush=True)
    print(f"step {step}; {_told(network, held)}", flush=True)
    np.savez(out, **network.arrays())


def _loss(network: Network, material: Material, some: torch.Tensor) -> torch.Tensor:
    scores = network(material.numbers(some))
    alone, among = material.alone[some], material.among[some]
    with_nothing = nn.functional.pad(scores[..., 0], (0, 1))
    line = nn.functional.cross_entropy(with_nothing, alone.clamp(min=0), reduction="none")
    line = (line * (alone >= 0)).sum() / (alone >= 0).sum()
    chord = nn.functional.binary_cross_entropy_with_logits(scores[..., 1], among.float())
    return line + _AMONG_WEIGHT * chord


@torch.no_grad()  # type: ignore[untyped-decorator]  # PyTorch is not in the locks: to mypy it is Any
def _told(network: Network, held: Material) -> str:
    """How well it does on takes held back."""
    right: dict[str, list[torch.Tensor]] = {"pitch": [], "nothing": [], "starts": [], "does not": []}
    for start in range(0, len(held), 4096):
        some = torch.arange(start, min(len(held), start + 4096), device=held.alone.device)
        scores = network(held.numbers(some))
        picked = nn.functional.pad(scores[..., 0], (0, 1)).argmax(1)
        alone, among = held.alone[some], held.among[some]
        is_note, is_nothing = (alone >= 0) & (alone < NOTHING), alone == NOTHING
        right["pitch"].append((picked == alone)[is_note])
        right["nothing"].append((picked == alone)[is_nothing])
        yes = scores[..., 1] > 0
        right["starts"].append(yes[among])
        right["does not"].append(~yes[~among])
    return ", ".join(f"{name} {float(torch.cat(found).float().mean()):.4f}" for name, found in right.items())
