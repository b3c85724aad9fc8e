"""Verdicts on the strings of chords: sounding, dead, another note, or "cannot tell".

A finger that lies badly lies so for most strokes of its chord. The strokes of one chord are therefore
judged together: for each string the chord either goes well or badly as a whole, and the odds of every
stroke speak for both it and its chord. Where a take's own strings hardly stand out from silence (a palm on
the strings, much noise), no string is called dead.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

import numpy as np

from fretwright.ear.arrays import Floats, Samples
from fretwright.ear.features import HIGHEST_MIDI, LOWEST_MIDI
from fretwright.ear.string_odds import odds_of_strings
from fretwright.ear.strings import COUNT, Strokes, describe_string, ringing_into, slips_of
from fretwright.ear.track_search import Events
from fretwright.ear.verdicts import Verdict
from fretwright.score.timeline import TimedNote

_LEARNT_AT: Final = 1.2
"""Odds (logarithm) of a written string to sound in what the network learnt from."""
_TRUST: Final = 0.7
"""How far the odds of several strokes count as independent."""
_BAD_CHORD: Final = 0.08
"""How often a string of a chord goes badly as a whole."""
_FAILS_IN_BAD, _FAILS_IN_GOOD = 0.8, 0.015
_FAULT: Final = 0.35
_PLAYED: Final = 0.65
"""A string is called dead below the first chance of sounding, and played above the second."""
_A_SLIP: Final = 2.0
_STANDS_OUT: Final = 2.0
_MOST: Final = 12.0


@dataclass(frozen=True, slots=True)
class JudgedString:
    """What is said of one written note of a stroke that was heard."""

    verdict: Verdict
    confidence: float
    midi: int | None
    """What sounds; none for a dead string."""


def judge_strings(
    asked: Sequence[TimedNote],
    events: Events,
    read: Strokes,
    rows_of: Mapping[int, Sequence[int]],
    shift: int,
) -> dict[int, JudgedString]:
    """A verdict for each note of the events heard.

    ``rows_of`` tells the rows of ``read`` in which each note may start to sound: one, that of its stroke, but
    for the strings of a rolled chord. A note sounds as surely as it does in its likeliest row.
    """
    own, slips = _odds(asked, events, read, rows_of, shift)
    doubtful = not _stand_out([odds for index, odds in own.items() if not asked[index].note.techniques.dead])
    out: dict[int, JudgedString] = {}
    for run in _runs(events, rows_of):
        for place in range(len(events.members[run[0]])):
            indices = [events.members[event][place] for event in run]
            chances = _chances(np.array([own[index] for index in indices]))
            bad = [index for index, chance in zip(indices, chances, strict=True) if chance < _PLAYED]
            heard = _slip(bad, slips)
            for index, chance in zip(indices, chances, strict=True):
                midi = asked[index].note.midi + shift
                out[index] = _judged(float(chance), midi, heard, asked[index], doubtful=doubtful)
    return out


def _odds(
    asked: Sequence[TimedNote],
    events: Events,
    read: Strokes,
    rows_of: Mapping[int, Sequence[int]],
    shift: int,
) -> tuple[dict[int, float], dict[int, dict[int, float]]]:
    """Odds that each written string sounds, and that it sounds each of its slips, by index of the note."""
    numbers: list[Samples] = []
    keys: list[tuple[int, int]] = []
    for event in _heard(events, rows_of):
        members = events.members[event]
        ringing = [midi + shift for midi in ringing_into(asked, events, event)]
        for index in members:
            note = asked[index].note
            others = [
                asked[other].note.midi + shift
                for other in members
                if other != index and not asked[other].note.techniques.dead
            ]
            pitches = [note.midi, *(midi for midi in slips_of(note) if midi + shift not in others)]
            for midi in dict.fromkeys(pitches):
                if LOWEST_MIDI <= midi + shift <= HIGHEST_MIDI:
                    for row in rows_of[index]:
                        numbers.append(describe_string(read, row, midi + shift, others, ringing))
                        keys.append((index, midi + shift))
    odds = odds_of_strings(np.array(numbers, dtype=np.float32).reshape(len(numbers), COUNT))
    own: dict[int, float] = {}
    slips: dict[int, dict[int, float]] = {}
    for (index, midi), value in zip(keys, odds.tolist(), strict=True):
        if midi == asked[index].note.midi + shift:
            own[index] = max(value, own.get(index, -np.inf))
        else:
            known = slips.setdefault(index, {})
            known[midi] = max(value, known.get(midi, -np.inf))
    for index in rows_of:
        # a pitch outside what is listened for: nothing is known
        own.setdefault(index, _LEARNT_AT)
    return own, slips


def _stand_out(own: Sequence[float]) -> bool:
    """Whether the strings of the take, three in four of them, clearly sound."""
    return bool(np.quantile(own, 0.25) > _STANDS_OUT) if own else True


def _heard(events: Events, rows_of: Mapping[int, Sequence[int]]) -> list[int]:
    """Events heard, in order of time."""
    return [event for event, members in enumerate(events.members) if members[0] in rows_of]


def _runs(events: Events, rows_of: Mapping[int, Sequence[int]]) -> list[list[int]]:
    """Events heard, those of the same chord in a row together."""
    heard = _heard(events, rows_of)
    return [list(run) for _, run in groupby(heard, key=lambda event: events.pitches[event])]


def _chances(odds: Floats) -> Floats:
    """Chance that the string sounds in each stroke of a run, by all of them."""
    likely = np.exp(np.clip(_TRUST * (odds - _LEARNT_AT), -_MOST, _MOST))
    in_bad = _FAILS_IN_BAD + (1 - _FAILS_IN_BAD) * likely
    in_good = _FAILS_IN_GOOD + (1 - _FAILS_IN_GOOD) * likely
    against = np.log(_BAD_CHORD) - np.log1p(-_BAD_CHORD) + np.sum(np.log(in_bad) - np.log(in_good))
    bad = 1 / (1 + np.exp(-np.clip(against, -30, 30)))
    chances: Floats = (
        bad * (1 - _FAILS_IN_BAD) * likely / in_bad + (1 - bad) * (1 - _FAILS_IN_GOOD) * likely / in_good
    )
    return chances


def _slip(indices: Sequence[int], slips: Mapping[int, Mapping[int, float]]) -> int | None:
    """The pitch that a string sounds instead, by all of its strokes that went badly; none if none is."""
    together: dict[int, list[float]] = {}
    for index in indices:
        for midi, odds in slips.get(index, {}).items():
            together.setdefault(midi, []).append(odds)
    if not together:
        return None
    best = max(together, key=lambda midi: float(np.mean(together[midi])))
    return best if np.mean(together[best]) > _A_SLIP else None


def _judged(chance: float, midi: int, heard: int | None, asked: TimedNote, *, doubtful: bool) -> JudgedString:
    if asked.note.techniques.dead:
        # its stroke was heard; that it has no pitch is as written
        return JudgedString(Verdict.PLAYED, 0.5, None)
    if chance >= _PLAYED:
        return JudgedString(Verdict.PLAYED, chance, midi)
    if heard is not None:
        return JudgedString(Verdict.WRONG, 1 - chance, heard)
    if chance < _FAULT and not doubtful:
        return JudgedString(Verdict.MISSED, 1 - chance, None)
    return JudgedString(Verdict.UNSURE, 1 - chance, None)
