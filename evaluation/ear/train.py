"""``python -m evaluation.ear.train draw FOLDER`` and ``... fit FOLDER``: the network that judges pitches.

``draw`` makes takes of the guitars that may be learnt from (:mod:`evaluation.ear.drawing`) and keeps what
the ear reads of them in a folder; ``fit`` learns from it and writes the weights into the package.
Fitting needs PyTorch, which nothing else here does; minutes on a graphics card, hours without one. The
weights that are there came from ``draw --takes 6100`` and ``fit --minutes 1.2`` on such a card.
"""

import argparse
import time
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Final

import numpy as np
from evaluation.ear.drawing import Moments, drawn

from fretwright.ear.features import Readings

WEIGHTS: Final = Path(__file__).parents[2] / "src" / "fretwright" / "ear" / "weights" / "pitches.npz"
_SEED: Final = 90_210
_HELD_BACK_SEED: Final = 90_211
_TAKES_PER_FILE: Final = 100
_HELD_BACK_FILES: Final = 4


def draw(folder: Path, takes: int, workers: int, until_s: float) -> None:
    """Draw takes into files of a hundred, as many as there is time for."""
    folder.mkdir(parents=True, exist_ok=True)
    files = range(takes // _TAKES_PER_FILE)
    ends = time.time() + until_s
    with ProcessPoolExecutor(workers) as pool:
        made = sum(pool.map(partial(_draw_file, folder, ends), files))
    print(f"{made} files of {_TAKES_PER_FILE} takes in {folder}", flush=True)


def _draw_file(folder: Path, ends: float, number: int) -> int:
    if time.time() > ends:
        return 0
    seed = _HELD_BACK_SEED if number < _HELD_BACK_FILES else _SEED
    some = [drawn(seed, number * _TAKES_PER_FILE + index) for index in range(_TAKES_PER_FILE)]
    np.savez(
        folder / f"{number:05}.npz",
        levels=np.concatenate([one.readings.levels for one in some]).astype(np.float16),
        shared=np.concatenate([one.readings.shared for one in some]),
        alone=np.concatenate([one.alone for one in some]).astype(np.int16),
        among=np.packbits(np.concatenate([one.among for one in some]), axis=1),
    )
    return 1


def read_file(path: Path) -> Moments:
    """The moments of one file."""
    stored = np.load(path)
    among = np.unpackbits(stored["among"], axis=1).astype(bool)
    return Moments(Readings(stored["levels"], stored["shared"]), stored["alone"].astype(np.int64), among)


def main() -> None:
    """Draw or fit."""
    parser = argparse.ArgumentParser(prog="python -m evaluation.ear.train")
    parser.add_argument("step", choices=("draw", "fit"))
    parser.add_argument("folder", type=Path)
    parser.add_argument("--takes", type=int, default=12_000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--minutes", type=float, default=600.0, help="stop drawing or learning after so long")
    parser.add_argument("--out", type=Path, default=WEIGHTS)
    asked = parser.parse_args()
    if asked.step == "draw":
        draw(asked.folder, asked.takes, asked.workers, 60 * asked.minutes)
    else:
        from evaluation.ear.fitting import fit  # noqa: PLC0415 - needs PyTorch, which drawing does not

        fit(sorted(asked.folder.glob("*.npz")), asked.out, 60 * asked.minutes)


if __name__ == "__main__":
    main()
