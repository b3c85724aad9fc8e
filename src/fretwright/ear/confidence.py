"""How likely it is that a verdict is right.

The judge's own figures say which way the evidence points; how often such evidence is right has to be counted.
A logistic curve over a few numbers of each note was fitted to verdicts of known truth
(``python -m evaluation.ear.calibrate``), one curve for each kind of verdict and one for attacks; its numbers
stand in ``weights/confidence.json``. A verdict less likely than :data:`LEAST_SURE` is not given.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib.resources import files
from typing import Final

import numpy as np

from fretwright.ear.align import STILL_S
from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.candidates import Candidates
from fretwright.ear.features import LOWEST_MIDI, PITCHES
from fretwright.ear.judge import Measured
from fretwright.ear.verdicts import HeardAttack, HeardNote, Verdict
from fretwright.score.note import Attack
from fretwright.score.timeline import TimedNote

LEAST_SURE: Final = {Verdict.PLAYED: 0.5, Verdict.WRONG: 0.6, Verdict.MISSED: 0.7}
"""A verdict is given from this chance of being right on; one that finds fault needs more."""
LEAST_SURE_ATTACK: Final = 0.7
LEAST_SURE_UNASKED_SLUR: Final = 0.9
"""What is written as a pluck is called a slur only on stronger evidence."""
FOUND: Final = ("margin", "odds", "rival", "off time", "stands out", "level", "neighbours", "take")
"""Numbers of a note that was found; what they are is told at :func:`_found`."""
MISSED: Final = ("at best", "plucked", "neighbours", "near", "take")
"""Numbers of a note that was not; see :func:`_missed`."""
ATTACK: Final = ("logit",)
"""The chance of a slur that the judge of attacks gives, on a scale without ends. How a note is written is no
part of it: how often students pluck what is written as a slur is not known."""
_NEAR_S: Final = 0.12
_EVEN: Final = 0.5
_MOST_ODDS: Final = 15.0


@dataclass(frozen=True, slots=True)
class Curve:
    """A logistic curve over some numbers."""

    weights: Floats
    """One for each number, shape (n,)."""
    offset: float

    def chance(self, numbers: Floats) -> Floats:
        """Of rows of numbers, shape (rows,)."""
        return np.asarray(1 / (1 + np.exp(-(numbers @ self.weights + self.offset))))


@dataclass(frozen=True, slots=True)
class Case:
    """All that a chance may rest on, of one time through."""

    asked: Sequence[TimedNote]
    measured: Measured
    missed: Mapping[int, float]
    """Best odds of each note that was not found."""
    found: Candidates
    odds: Samples
    """Shape (moments, PITCHES)."""
    shift: int
    """Semitones by which the whole take lies above what is written."""


def claim(note: HeardNote, timed: TimedNote, shift: int) -> Verdict:
    """The verdict that the evidence points to, however surely."""
    if note.heard_midi is None:
        return Verdict.MISSED
    return Verdict.PLAYED if note.heard_midi == timed.note.midi + shift else Verdict.WRONG


def numbers_of(case: Case) -> list[Floats]:
    """The numbers of each written note: :data:`FOUND` or :data:`MISSED`."""
    place = {match.note: index for index, match in enumerate(case.measured.matches)}
    right = np.array(
        [match.midi == case.asked[match.note].note.midi + case.shift for match in case.measured.matches]
    )
    whole = float(right.sum()) / max(1, len(case.asked))
    good = np.array([index in place and bool(right[place[index]]) for index in range(len(case.asked))])
    beside = np.array([_beside(good, index) for index in range(len(case.asked))])
    return [
        _found(case, place[index], float(beside[index]), whole)
        if index in place
        else _missed(case, index, float(beside[index]), whole)
        for index in range(len(case.asked))
    ]


def sure(case: Case, notes: Sequence[HeardNote]) -> tuple[HeardNote, ...]:
    """The notes with the verdicts and attacks that are sure enough, each with the chance that it is right."""
    stored = curves()
    place = {match.note: index for index, match in enumerate(case.measured.matches)}
    out = []
    for index, (timed, note, numbers) in enumerate(zip(case.asked, notes, numbers_of(case), strict=True)):
        verdict = claim(note, timed, case.shift)
        chance = float(stored[verdict].chance(numbers[None])[0])
        if verdict is Verdict.MISSED and numbers[MISSED.index("at best")] > 0:
            # its pitch rather starts there than not: no take that was counted has such a note left out
            chance = min(chance, _EVEN)
        given = verdict if chance >= LEAST_SURE[verdict] else Verdict.UNSURE
        attack, surely = note.attack, note.attack_confidence
        if index in place and can_be_slurred(case.asked, index):
            slur = float(case.measured.slurs[place[index]])
            attack, chance_of_attack = attack_of(slur, written_slur=timed.note.attack is not Attack.PLUCK)
            surely = round(chance_of_attack, 3)
        out.append(
            replace(note, verdict=given, confidence=round(chance, 3), attack=attack, attack_confidence=surely)
        )
    return tuple(out)


def can_be_slurred(asked: Sequence[TimedNote], index: int) -> bool:
    """Whether another fret of the same string sounds before a note, that it could be slurred from."""
    if not index:
        return False
    before, own = asked[index - 1].note, asked[index].note
    return before.string == own.string and before.fret != own.fret


def attack_of(slur: float, *, written_slur: bool) -> tuple[HeardAttack, float]:
    """How a note started, and how likely that is right, from the judge of attacks' chance of a slur."""
    chance = float(curves()["attack"].chance(attack_numbers(np.array([slur])))[0])
    if chance < 0.5:
        return (HeardAttack.PLUCK if 1 - chance >= LEAST_SURE_ATTACK else HeardAttack.UNSURE), 1 - chance
    least = LEAST_SURE_ATTACK if written_slur else LEAST_SURE_UNASKED_SLUR
    return (HeardAttack.SLUR if chance >= least else HeardAttack.UNSURE), chance


def attack_numbers(slurs: Floats) -> Floats:
    """The numbers of :data:`ATTACK` for some notes, shape (n, 1)."""
    held = np.clip(slurs, 1e-4, 1 - 1e-4)
    return np.asarray(np.log(held / (1 - held)))[:, None]


def _found(case: Case, at: int, beside: float, whole: float) -> Floats:
    """The numbers of a note that was found.

    How far the odds of what was heard lie above all else, and alone; the rival's; distance from the pulse;
    how strongly something starts there; level; whether the notes beside it came as written, and the take.
    """
    measured, match = case.measured, case.measured.matches[at]
    levels = measured.levels_db - np.median(measured.levels_db)
    return np.array(
        [
            _bounded(match.odds - float(np.logaddexp(0.0, match.rival))),
            _bounded(match.odds),
            _bounded(match.rival),
            min(abs(float(measured.timing_s[at])), 0.3) * 10,
            min(float(max(case.found.rise[match.moment], case.found.change[match.moment])), 2.0),
            float(np.clip(levels[at] / 10, -3, 1)),
            beside,
            whole,
        ]
    )


def _missed(case: Case, index: int, beside: float, whole: float) -> Floats:
    """The numbers of a note that was not found.

    Best odds of its pitch where it was due; how much seems plucked there that stands for no other note; notes
    beside it; how near the next note that was found lies; the whole take.
    """
    due_s = _due_s(case, index)
    times_s, onsets_s = case.found.times_s, case.measured.onsets_s
    near = np.abs(times_s - due_s) < _NEAR_S
    if len(onsets_s):
        near &= np.abs(times_s[:, None] - onsets_s).min(axis=1) > STILL_S * 0.75
    pitch = case.asked[index].note.midi + case.shift - LOWEST_MIDI
    best = float(case.odds[near, pitch].max(initial=-_MOST_ODDS)) if 0 <= pitch < PITCHES else -_MOST_ODDS
    best = max(best, case.missed.get(index, -_MOST_ODDS))
    closest = float(np.abs(onsets_s - due_s).min(initial=1.0))
    return np.array(
        [
            _bounded(best),
            min(float(case.found.rise[near].max(initial=0.0)), 2.0),
            beside,
            min(closest, 0.5) * 4,
            whole,
        ]
    )


def _due_s(case: Case, index: int) -> float:
    """Where a note's neighbours put it."""
    known = [match.note for match in case.measured.matches]
    order = np.argsort(known)
    written = np.array([case.asked[known[place]].onset_s for place in order])
    return float(np.interp(case.asked[index].onset_s, written, case.measured.onsets_s[order]))


def _beside(good: "np.ndarray[tuple[int], np.dtype[np.bool_]]", index: int) -> float:
    """Share of the two notes to either side that came as written."""
    some = [place for place in (index - 2, index - 1, index + 1, index + 2) if 0 <= place < len(good)]
    return float(good[some].mean()) if some else 1.0


def _bounded(odds: float) -> float:
    return float(np.clip(odds, -_MOST_ODDS, _MOST_ODDS)) / 5


@lru_cache(maxsize=1)
def curves() -> dict[str, Curve]:
    """The fitted curves: by kind of verdict, and ``attack``."""
    text = (files("fretwright.ear") / "weights" / "confidence.json").read_text(encoding="utf-8")
    return {
        name: Curve(np.array([stored["weights"][number] for number in numbers_named(name)]), stored["offset"])
        for name, stored in json.loads(text).items()
    }


def numbers_named(curve: str) -> tuple[str, ...]:
    """Which numbers a curve is over."""
    return {Verdict.MISSED.value: MISSED, "attack": ATTACK}.get(curve, FOUND)
