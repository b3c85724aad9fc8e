"""How right the ear was about one take.

Notes are matched by mir_eval's published rule: onset within 50 ms and pitch within 50 cents, offsets left
out. The reference is the last complete pass as it was really played, wrong and extra notes
included; the estimate is every note the ear found in it. Verdicts are compared note by note.
"""

import tempfile
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

import numpy as np
import soxr
from evaluation.ear.corrupting import CODECS, Recorded
from evaluation.ear.guitars import HIGHEST, LOWEST, STRENGTHS, recorded_note
from evaluation.ear.guitars import RATE_HZ as TAKE_RATE_HZ
from evaluation.ear.performing import Struck
from evaluation.ear.takes import Take as KnownTake
from mir_eval.transcription import precision_recall_f1_overlap
from mir_eval.util import midi_to_hz

from fretwright.ear.listen import listen
from fretwright.ear.take import RATE_HZ, Refusal, Take, read_take
from fretwright.ear.verdicts import HeardAttack, Hearing, Verdict
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline

_NEAR_S: Final = 0.05
_LENGTH_S: Final = 0.1


@dataclass(slots=True)
class Outcome:
    """Figures of one take."""

    name: str
    condition: str
    guitar: str
    slurs: str
    faulty: bool
    refused: bool = False
    f1: float = 0.0
    expected: int = 0
    counts: Counter[str] = field(default_factory=Counter)
    """``wrong right``, ``wrong claimed``, ``wrong true`` and so on; ``pluck as slur`` and so on;
    ``unsure``."""
    errors_s: dict[str, list[float]] = field(
        default_factory=lambda: {"plucked": [], "slurred": [], "slid": []}
    )
    cents: list[float] = field(default_factory=list)
    shift: int = 0


def heard_of(known: KnownTake) -> Hearing | Refusal:
    """What the ear says of a take."""
    played = timeline(known.performance.score)
    take = ready(known.recorded)
    if isinstance(take, Refusal):
        return take
    return listen(take, played, Ladder(known.performance.bpm, known.performance.bpm))


def ready(recorded: Recorded) -> Take | Refusal:
    """A recording as the ear gets it; a codec's goes through a file and the decoding process."""
    if recorded.codec is None:
        samples = soxr.resample(recorded.samples.astype(np.float32), TAKE_RATE_HZ, RATE_HZ, quality="MQ")
        return Take(samples)
    suffix, encode = CODECS[recorded.codec]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"take{suffix}"
        path.write_bytes(encode(recorded.samples))
        return read_take(path)


def score(known: KnownTake, heard: Hearing | Refusal) -> Outcome:
    """Compare a hearing with what is known."""
    out = Outcome(known.name, known.condition, known.guitar, known.slurs, known.faulty)
    out.expected = len(known.performance.expected)
    if isinstance(heard, Refusal):
        out.refused = True
        return out
    out.shift = heard.shift
    out.f1 = _f1(known, heard)
    _verdicts(known, heard, out)
    _extras(known, heard, out)
    return out


def _f1(known: KnownTake, heard: Hearing) -> float:
    struck = known.performance.last_pass
    reference = [(one.onset_s + known.recorded.offset_s, one.midi) for one in struck]
    estimate = [
        (note.onset_s, note.heard_midi)
        for note in heard.notes
        if note.onset_s is not None and note.heard_midi is not None
    ]
    estimate += [(extra.onset_s, extra.midi) for extra in heard.extras]
    return note_f1(reference, estimate)


def note_f1(reference: Sequence[tuple[float, float]], estimate: Sequence[tuple[float, float]]) -> float:
    """mir_eval's note transcription F1 of notes given as onset in seconds and MIDI number."""
    if not estimate:
        return 0.0
    intervals, hertz = zip(*(_for_mir_eval(notes) for notes in (reference, estimate)), strict=True)
    _, _, f1, _ = precision_recall_f1_overlap(
        intervals[0], hertz[0], intervals[1], hertz[1], offset_ratio=None
    )
    return float(f1)


def _for_mir_eval(
    notes: Sequence[tuple[float, float]],
) -> tuple[
    "np.ndarray[tuple[int, int], np.dtype[np.float64]]", "np.ndarray[tuple[int], np.dtype[np.float64]]"
]:
    onsets = np.maximum(np.array([onset for onset, _ in notes]), 0)
    return np.stack([onsets, onsets + _LENGTH_S], axis=1), midi_to_hz(np.array([midi for _, midi in notes]))


def _verdicts(known: KnownTake, heard: Hearing, out: Outcome) -> None:
    latest = {one.expected: one for one in known.performance.last_pass if one.expected is not None}
    for index, (timed, note) in enumerate(zip(known.performance.expected, heard.notes, strict=True)):
        struck = latest.get(index)
        if struck is None:
            true = Verdict.MISSED
        else:
            true = Verdict.PLAYED if struck.midi == timed.note.midi else Verdict.WRONG
        out.counts["unsure"] += note.verdict is Verdict.UNSURE
        for kind in (Verdict.WRONG, Verdict.MISSED):
            out.counts[f"{kind} true"] += true is kind
            out.counts[f"{kind} claimed"] += note.verdict is kind
            out.counts[f"{kind} right"] += true is kind and note.verdict is kind
        if struck is not None:
            out.counts[f"{_kind(struck)} played"] += 1
        if note.verdict in (Verdict.WRONG, Verdict.MISSED) and true is Verdict.PLAYED:
            out.counts["alarms"] += 1
        if (
            struck is None
            or note.onset_s is None
            or abs(note.onset_s - struck.onset_s - known.recorded.offset_s) > _NEAR_S
        ):
            continue
        out.errors_s[_kind(struck)].append(note.onset_s - struck.onset_s - known.recorded.offset_s)
        if note.pitch_cents is not None and note.heard_midi == struck.midi and _has_pitch(known, struck):
            out.cents.append(note.pitch_cents + heard.tuning_cents - known.guitar_cents - struck.cents)
        if timed.note.attack.is_slur or struck.slurred:
            true_attack = HeardAttack.SLUR if struck.slurred else HeardAttack.PLUCK
            out.counts[f"{true_attack} as {note.attack}"] += 1


def _kind(struck: Struck) -> str:
    if not struck.slurred:
        return "plucked"
    return "slid" if struck.glides_s else "slurred"


def _has_pitch(known: KnownTake, struck: Struck) -> bool:
    """Whether the recording that sounds has a pitch to measure against."""
    source = struck
    if known.slurs == "jump":
        # a slur is read from the recording of the pluck before it
        order = known.performance.struck
        source = next(one for one in order[order.index(struck) :: -1] if not one.slurred)
    return all(
        recorded_note(known.guitar, min(max(source.midi, LOWEST), HIGHEST), strength).is_pitched
        for strength in STRENGTHS
    )


def _extras(known: KnownTake, heard: Hearing, out: Outcome) -> None:
    true = [
        one.onset_s + known.recorded.offset_s for one in known.performance.last_pass if one.expected is None
    ]
    found = [extra.onset_s for extra in heard.extras]
    out.counts["extra true"] += len(true)
    out.counts["extra claimed"] += len(found)
    out.counts["extra right"] += sum(any(abs(one - other) < _NEAR_S for other in found) for one in true)
    out.counts["alarms"] += sum(all(abs(one - other) >= _NEAR_S for other in true) for one in found)
