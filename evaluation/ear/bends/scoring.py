"""How right the ear was about the bends and the vibrato of one take."""

from collections import Counter
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import soxr
from evaluation.ear.bends.playing import Curve, Known
from evaluation.ear.guitars import RATE_HZ as TAKE_RATE_HZ

from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Refusal, Take
from fretwright.ear.verdicts import BendVerdict, HeardNote, Hearing, Verdict, VibratoVerdict
from fretwright.score.techniques import Bend
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline

_NEAR_S: Final = 0.05
_ARRIVED_CENTS: Final = 20.0


@dataclass(slots=True)
class Outcome:
    """Figures of one take; cents are heard less true, rates and widths shares of the true ones."""

    guitar: str
    condition: str
    counts: Counter[str] = field(default_factory=Counter)
    targets_cents: list[float] = field(default_factory=list)
    starts_cents: list[float] = field(default_factory=list)
    ends_cents: list[float] = field(default_factory=list)
    reaches_ms: list[float] = field(default_factory=list)
    rates: list[float] = field(default_factory=list)
    widths: list[float] = field(default_factory=list)


def heard_of(known: Known) -> Hearing | Refusal:
    """What the ear says of a take."""
    samples = soxr.resample(known.samples.astype(np.float32), TAKE_RATE_HZ, RATE_HZ, quality="MQ")
    return listen(Take(samples), timeline(known.score), Ladder(known.bpm, known.bpm))


def score(known: Known, heard: Hearing | Refusal) -> Outcome:
    """Compare a hearing with what is known."""
    out = Outcome(known.guitar, known.condition)
    if isinstance(heard, Refusal):
        out.counts["refused"] += 1
        return out
    out.counts["extra"] += len(heard.extras)
    out.counts["notes"] += len(known.asked)
    for timed, curve, onset_s, note in zip(
        known.asked, known.curves, known.onsets_s, heard.notes, strict=True
    ):
        techniques = timed.note.techniques
        if techniques.bend is not None:
            out.counts["bent"] += 1
            out.counts["bent wrong"] += note.verdict is Verdict.WRONG
        if note.verdict is not Verdict.PLAYED or note.onset_s is None:
            continue
        if abs(note.onset_s - onset_s) > _NEAR_S:
            out.counts["onset off"] += 1
        if techniques.bend is not None:
            _bend(techniques.bend, curve, note, out)
        if techniques.vibrato is not None:
            _vibrato(curve, note, out)
    return out


def _bend(bend: Bend, curve: Curve, note: HeardNote, out: Outcome) -> None:
    out.counts["bent found"] += 1
    heard = note.bend
    if heard is None or heard.verdict is BendVerdict.UNSURE or heard.reached_cents is None:
        return
    # a swing that only pulls lifts the middle of the note by half of its width
    lift = curve.width_cents / 2 if curve.swings_up else 0.0
    true = float(curve.cents.max()) + lift
    out.targets_cents.append(heard.reached_cents - true)
    if heard.start_off_cents is not None:
        true_start = float(curve.cents[0]) - 100 * float(bend.points[0].semitones)
        out.starts_cents.append(heard.start_off_cents - true_start)
    if heard.end_off_cents is not None:
        true_end = float(curve.cents[-1]) - 100 * float(bend.target)
        out.ends_cents.append(heard.end_off_cents - true_end)
    if heard.reach_ms is not None and not curve.rate_hz and true > 2 * _ARRIVED_CENTS:
        times_s = np.arange(0, float(curve.times_s.max()), 0.001)
        arrived = np.flatnonzero(curve.at(times_s) >= true - _ARRIVED_CENTS)
        out.reaches_ms.append(heard.reach_ms - 1000 * float(times_s[arrived[0]]))


def _vibrato(curve: Curve, note: HeardNote, out: Outcome) -> None:
    heard = note.vibrato
    if heard is None or heard.verdict is VibratoVerdict.UNSURE:
        return
    true = "swinging" if curve.rate_hz else "still"
    out.counts[f"{true} told"] += 1
    if (heard.verdict is VibratoVerdict.SWINGS) != bool(curve.rate_hz):
        out.counts[f"{true} as {'swinging' if true == 'still' else 'still'}"] += 1
    if heard.rate_hz is not None and heard.width_cents is not None and curve.rate_hz:
        out.rates.append(heard.rate_hz / curve.rate_hz - 1)
        out.widths.append(heard.width_cents / curve.width_cents - 1)
