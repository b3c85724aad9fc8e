"""``python -m evaluation.ear.references [--per-condition N] [--basic-pitch PYTHON]``: others on these takes.

Two general transcribers hear the takes of ``python -m evaluation.ear`` and are scored by the same rule of
mir_eval: librosa's onset detector with pYIN between the onsets, and basic-pitch. Both are blind: they are not
told what should have been played, and are no rivals of an ear that is. Writes ``references.md``.

basic-pitch wants other versions of common libraries than the project's, so it lives in an environment of its
own:

    python3.11 -m venv build/basic-pitch
    build/basic-pitch/bin/pip install --no-deps basic-pitch==0.4.0
    build/basic-pitch/bin/pip install onnxruntime librosa mir_eval pretty_midi resampy "setuptools<81"
    python -m evaluation.ear.references --basic-pitch build/basic-pitch/bin/python
"""

import argparse
import json
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Final

import librosa
import numpy as np
import soundfile
from evaluation.ear.guitars import HIGHEST, LOWEST, REPORTED_ON, require
from evaluation.ear.scoring import heard_of, note_f1, ready
from evaluation.ear.takes import Take as KnownTake
from evaluation.ear.takes import takes

from fretwright.ear.take import RATE_HZ, Take
from fretwright.ear.verdicts import Hearing

Notes = Sequence[tuple[float, float]]
"""Onset in seconds and MIDI number of each."""

_REPORT: Final = Path(__file__).with_name("references.md")
_SCRIPT: Final = Path(__file__).with_name("basic_pitch_notes.py")
_PER_CONDITION: Final = 2
_LEFT_OUT: Final = ("restart",)
"""Whoever is not told the exercise cannot know which time through counts."""
_SETTLED_S, _LEAST_VOICED = 0.03, 0.3
_HEAD: Final = """# Other transcribers on the same takes

Made by `python -m evaluation.ear.references --basic-pitch PYTHON` (its first lines say how basic-pitch is
installed). {count} takes on {guitars}: those of `python -m evaluation.ear` without the condition
"restart". Mean note F1 by mir_eval: onset within 50 ms, pitch within 50 cents, offsets left out.

The two are blind: they hear the take alone. The ear is told what should have been played, and on every other
take most of it was; that is what it is for, and not a fair race. Both are used as their documentation has
them, with nothing tuned: librosa {librosa} (`onset_detect`, then the median of `pyin` between onsets) and
basic-pitch 0.4.0 (its ONNX model at its default thresholds, and again held to the range of the guitar).
"""


def blind(take: Take) -> Notes:
    """Onsets by librosa with the median pitch of pYIN until the next; those without a pitch are left out."""
    samples = take.samples.astype(np.float32)
    onsets_s = librosa.onset.onset_detect(y=samples, sr=RATE_HZ, units="time")
    hertz, voiced, _ = librosa.pyin(
        samples,
        sr=RATE_HZ,
        fmin=float(librosa.midi_to_hz(LOWEST - 1)),
        fmax=float(librosa.midi_to_hz(HIGHEST + 1)),
        frame_length=2048,
    )
    times_s = librosa.times_like(hertz, sr=RATE_HZ)
    ends_s = [*onsets_s[1:], take.length_s]
    notes = []
    for onset_s, end_s in zip(onsets_s, ends_s, strict=True):
        inside = (times_s >= onset_s + _SETTLED_S) & (times_s < end_s)
        if inside.any() and voiced[inside].mean() >= _LEAST_VOICED:
            notes.append((float(onset_s), float(librosa.hz_to_midi(np.median(hertz[inside & voiced])))))
    return notes


def told(known: KnownTake) -> Notes:
    """The ear's own notes, extras included."""
    heard = heard_of(known)
    if not isinstance(heard, Hearing):
        return []
    notes = [(note.onset_s, note.heard_midi) for note in heard.notes]
    found = [(at_s, float(midi)) for at_s, midi in notes if at_s is not None and midi is not None]
    return found + [(extra.onset_s, float(extra.midi)) for extra in heard.extras]


def basic_pitch(python: Path, heard: Sequence[Take]) -> list[dict[str, Notes]]:
    """basic-pitch's notes of each take, by setting, from an interpreter of its own."""
    with tempfile.TemporaryDirectory() as folder:
        paths = []
        for index, take in enumerate(heard):
            paths.append(Path(folder) / f"{index}.wav")
            soundfile.write(paths[-1], take.samples, RATE_HZ, subtype="FLOAT")
        done = subprocess.run(
            [str(python), str(_SCRIPT), *map(str, paths)], check=True, stdout=subprocess.PIPE, text=True
        )
    answers: list[dict[str, Notes]] = json.loads(done.stdout.splitlines()[-1])
    return answers


def _reference(known: KnownTake) -> Notes:
    return [(one.onset_s + known.recorded.offset_s, float(one.midi)) for one in known.performance.struck]


def _rows(scores: Mapping[str, Sequence[float]], groups: Sequence[str]) -> list[str]:
    """A line for every group and one for all, a column for every transcriber."""
    values = {name: np.array(some) for name, some in scores.items()}
    lines = [
        f"|  | takes | {' | '.join(values)} |",
        "| --- " * (len(values) + 2) + "|",
    ]
    labels = np.array(groups)
    for group in [*sorted(set(groups)), "all"]:
        inside = np.ones(len(labels), dtype=bool) if group == "all" else labels == group
        cells = " | ".join(f"{some[inside].mean():.3f}" for some in values.values())
        lines.append(f"| {group} | {inside.sum()} | {cells} |")
    return lines


def main() -> int:
    """Run it; 2 where basic-pitch cannot be run."""
    parser = argparse.ArgumentParser(prog="python -m evaluation.ear.references")
    parser.add_argument("--per-condition", type=int, default=_PER_CONDITION)
    parser.add_argument("--basic-pitch", type=Path, metavar="PYTHON")
    asked = parser.parse_args()
    require()
    known: list[KnownTake] = []
    heard: list[Take] = []
    for one in takes(reported=True, per_condition=asked.per_condition):
        take = ready(one.recorded)
        if one.condition not in _LEFT_OUT and isinstance(take, Take):
            known.append(one)
            heard.append(take)
    systems: dict[str, Callable[[int], Notes]] = {
        "the ear (told the exercise)": lambda index: told(known[index]),
        "librosa onset + pYIN": lambda index: blind(heard[index]),
    }
    if asked.basic_pitch is not None:
        if not asked.basic_pitch.is_file():
            print(f"There is no {asked.basic_pitch}: see the first lines of this file.", file=sys.stderr)
            return 2
        answers = basic_pitch(asked.basic_pitch, heard)
        systems["basic-pitch"] = lambda index: answers[index]["default"]
        systems["basic-pitch, guitar's range"] = lambda index: answers[index]["guitar"]
    scores = {
        name: [note_f1(_reference(one), notes(index)) for index, one in enumerate(known)]
        for name, notes in systems.items()
    }
    head = _HEAD.format(count=len(known), guitars=", ".join(REPORTED_ON), librosa=version("librosa"))
    lines = [
        head,
        *_rows(scores, [one.condition for one in known]),
        "\n## By guitar\n",
        *_rows(scores, [one.guitar for one in known]),
    ]
    text = "\n".join(lines) + "\n"
    print(text)
    if asked.basic_pitch is not None:
        _REPORT.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
