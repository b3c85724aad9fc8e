"""How right the ear was about one take of chords.

Strings are compared one by one over the last pass as it was really played: a string is at fault where it
was dead, not struck, or sounded another note; the ear finds it where it says "missed" or "wrong". Strokes
are matched in time, by the rule that mir_eval has for onsets: within 50 ms, each at most once.
"""

from collections import Counter
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from evaluation.ear.chords.performing import Struck
from evaluation.ear.chords.takes import Take as KnownTake
from evaluation.ear.scoring import ready
from mir_eval.onset import f_measure

from fretwright.ear.listen import listen
from fretwright.ear.take import Refusal
from fretwright.ear.verdicts import Hearing, Verdict
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import timeline

_NEAR_S: Final = 0.05
_TOLD: Final = {Verdict.MISSED, Verdict.WRONG}
_COVERING: Final = (12, 19, 24, 28)
"""Semitones to the 2nd, 3rd, 4th and 5th partial: a string that many under another has all of its
partials."""


@dataclass(slots=True)
class Outcome:
    """Figures of one take."""

    name: str
    kind: str
    condition: str
    guitar: str
    faulty: bool
    refused: bool = False
    stroke_f1: float = 0.0
    times_ms: list[float] = field(default_factory=list)
    """Error of each stroke's onset."""
    spreads_ms: list[float] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    """``{fault} {clear or covered} {true, found, unsure, named}``; ``sounding {true, alarms, unsure}``;
    ``{missed or extra} strokes {true, right, claimed}``."""
    shift: int = 0


def heard_of(known: KnownTake) -> Hearing | Refusal:
    """What the ear says of a take."""
    take = ready(known.recorded)
    if isinstance(take, Refusal):
        return take
    ladder = Ladder(known.performance.bpm, known.performance.bpm)
    return listen(take, timeline(known.performance.score), ladder)


def score(known: KnownTake, heard: Hearing | Refusal) -> Outcome:
    """Compare a hearing with what is known."""
    out = Outcome(known.name, known.kind, known.condition, known.guitar, known.faulty)
    if isinstance(heard, Refusal):
        out.refused = True
        return out
    out.shift = heard.shift
    _strings(known, heard, out)
    _strokes(known, heard, out)
    return out


def _strings(known: KnownTake, heard: Hearing, out: Outcome) -> None:
    for stroke in known.performance.last_pass:
        if stroke.event is None:
            continue
        sounding = [one.midi for one in stroke.strings if one.fault in {None, "wrong"}]
        for one in stroke.strings:
            note = heard.notes[one.expected or 0]
            told, unsure = note.verdict in _TOLD, note.verdict is Verdict.UNSURE
            if one.fault is None:
                out.counts["sounding true"] += 1
                out.counts["sounding alarms"] += told
                out.counts["sounding unsure"] += unsure
                continue
            asked = known.performance.expected[one.expected or 0].note.midi
            covered = any(asked - step in sounding for step in _COVERING)
            name = f"{one.fault} {'covered' if covered else 'clear'}"
            out.counts[f"{name} true"] += 1
            out.counts[f"{name} found"] += told
            out.counts[f"{name} unsure"] += unsure
            out.counts[f"{name} named"] += told and note.heard_midi == one.midi


def _strokes(known: KnownTake, heard: Hearing, out: Outcome) -> None:
    true = known.performance.last_pass
    onsets = np.array([stroke.onset_s + known.recorded.offset_s for stroke in true])
    told = [stroke for stroke in heard.strokes if stroke.onset_s is not None]
    estimated = np.sort([*(s.onset_s or 0.0 for s in told), *(extra.onset_s for extra in heard.extras)])
    out.stroke_f1 = float(f_measure(np.maximum(onsets, 0), estimated, window=_NEAR_S)[0])
    for stroke in told:
        nearest = int(np.abs(onsets - (stroke.onset_s or 0.0)).argmin())
        off_s = (stroke.onset_s or 0.0) - float(onsets[nearest])
        if abs(off_s) <= _NEAR_S:
            out.times_ms.append(1000 * off_s)
            if stroke.spread_ms is not None:
                out.spreads_ms.append(stroke.spread_ms - 1000 * true[nearest].spread_s)
    _left_out_and_extra(known, heard, true, out)


def _left_out_and_extra(known: KnownTake, heard: Hearing, true: tuple[Struck, ...], out: Outcome) -> None:
    played = {stroke.event for stroke in true}
    for event, stroke in enumerate(heard.strokes):
        claimed = stroke.onset_s is None and all(
            heard.notes[place].verdict is Verdict.MISSED for place in stroke.places
        )
        out.counts["missed strokes true"] += event not in played
        out.counts["missed strokes claimed"] += claimed
        out.counts["missed strokes right"] += claimed and event not in played
    extras = [stroke.onset_s + known.recorded.offset_s for stroke in true if stroke.event is None]
    out.counts["extra strokes true"] += len(extras)
    out.counts["extra strokes claimed"] += len(heard.extras)
    out.counts["extra strokes right"] += sum(
        any(abs(one - extra.onset_s) < _NEAR_S for extra in heard.extras) for one in extras
    )
