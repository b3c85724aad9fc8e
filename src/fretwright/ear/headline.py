"""The one thing to say: what to mend first, where, and at which tempo to go on.

Faults stand in the order in which a teacher would take them up: another pitch than asked throughout; notes
that are wrong or left out; slurs that were plucked; bends that miss their pitch; time. Praise says only
what was measured.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fretwright.ear.pulse import Pulse, just_heard_s
from fretwright.ear.verdicts import (
    Advice,
    BendVerdict,
    HeardAttack,
    HeardExtra,
    HeardNote,
    Verdict,
    VibratoVerdict,
)
from fretwright.score.note import Attack
from fretwright.score.tempo import Ladder
from fretwright.score.timeline import TimedNote, Timeline

_ORDINALS: Final = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
_EVEN_SHARE: Final = 0.05
"""Spread of a steady player: musicians tap within some 2-4 % of the interval (from memory)."""
_DRIFT_PERCENT: Final = 5.0
_OFF_SHARE: Final = 0.18
"""Of the interval: a note that far from the pulse is named."""
_MANY_WRONG: Final = 0.12
_MANY_UNSURE: Final = 0.25
_MISTAKEN: Final = 0.02
"""A fault is made the one thing to mend only where it is less likely than this that there is none."""
_OUT_OF_TUNE_CENTS: Final = 15.0
_ATTACK_NAMES: Final = {Attack.HAMMER_ON: "hammer-on", Attack.PULL_OFF: "pull-off", Attack.SLIDE: "slide"}

_BEND_WORDS: Final = {
    BendVerdict.SHORT: ("falls short", "play the fretted note that you are aiming for first, and meet it"),
    BendVerdict.SHARP: ("goes too far", "stop where the fretted note that you are aiming for lies"),
}
"""A fret is 100 cents."""


@dataclass(frozen=True, slots=True)
class _Case:
    """Everything a remark may rest on."""

    asked: tuple[TimedNote, ...]
    notes: tuple[HeardNote, ...]
    extras: tuple[HeardExtra, ...]
    pulse: Pulse
    shift: int

    def of(self, verdict: Verdict) -> list[int]:
        return [index for index, note in enumerate(self.notes) if note.verdict is verdict]


def advise(
    played: Timeline,
    notes: tuple[HeardNote, ...],
    extras: tuple[HeardExtra, ...],
    pulse: Pulse,
    ladder: Ladder,
    shift: int,
    of_chords: tuple[str, ...] | None = None,
) -> Advice:
    """Headline, observations and the next rung.

    ``of_chords`` is what is said of an exercise with chords, string by string, in place of notes that are
    wrong.
    """
    case = _Case(played.notes, notes, extras, pulse, shift)
    remarks = [
        remark
        for source in _REMARKS
        for remark in (source(case) if of_chords is None or source is not _wrong else of_chords)
    ]
    heading = remarks[0] if remarks else _praise(case)
    next_bpm, words = _next(case, played.bpm / pulse.stretch, ladder, clean=not remarks)
    return Advice(heading, tuple(remarks[1:3]) if remarks else (), next_bpm, words)


def _shifted(case: _Case) -> Iterable[str]:
    if case.shift:
        size, way = abs(case.shift), "higher" if case.shift > 0 else "lower"
        frets = "fret" if size == 1 else "frets"
        yield f"Everything sounds {size} {frets} {way} than written: look at the capo and the tuning."


def _wrong(case: _Case) -> Iterable[str]:
    bad = sorted([*case.of(Verdict.WRONG), *case.of(Verdict.MISSED)])
    if not bad:
        return
    bars = Counter(_bar(case.asked[index]) for index in bad)
    bar, count = min(bars.items(), key=lambda item: (-item[1], item[0]))
    inside = [index for index in bad if _bar(case.asked[index]) == bar]
    if len(bad) > 1 and count > 1:
        yield f"Bar {bar} is where it breaks down: {_listed(case, inside)}."
    else:
        yield f"{_one(case, inside[0])}."
    others = len(bad) - count
    if others:
        yield f"{others} more {'note' if others == 1 else 'notes'} elsewhere did not come as written."


def _listed(case: _Case, inside: Sequence[int]) -> str:
    wrong = sum(case.notes[index].verdict is Verdict.WRONG for index in inside)
    missed = len(inside) - wrong
    parts = [f"{count} {word}" for count, word in ((wrong, "wrong"), (missed, "left out")) if count]
    return f"{' and '.join(parts)}, starting with {_place(case, inside[0])}"


def _one(case: _Case, index: int) -> str:
    note, timed = case.notes[index], case.asked[index]
    place = _place(case, index)
    if note.verdict is Verdict.MISSED or note.heard_midi is None:
        return f"{_upper(place)} was not heard (string {timed.note.string}, fret {timed.note.fret})"
    off = note.heard_midi - timed.note.midi - case.shift
    size, way = abs(off), "higher" if off > 0 else "lower"
    return f"{_upper(place)} sounded {size} {'fret' if size == 1 else 'frets'} {way} than written"


def _extra(case: _Case) -> Iterable[str]:
    count = len(case.extras)
    if count:
        word, first_s = "note" if count == 1 else "notes", case.extras[0].onset_s
        yield f"{count} {word} too many: the first at {first_s:.1f} seconds into the recording."


def _slurs(case: _Case) -> Iterable[str]:
    plucked = [
        index
        for index, (timed, note) in enumerate(zip(case.asked, case.notes, strict=True))
        if timed.note.attack.is_slur and note.attack is HeardAttack.PLUCK and note.verdict is Verdict.PLAYED
    ]
    all_mistaken = np.prod([_mistaken(case.notes[index]) for index in plucked])
    if plucked and all_mistaken < _MISTAKEN:
        name = _ATTACK_NAMES.get(case.asked[plucked[0]].note.attack, "slur")
        more = f" and {len(plucked) - 1} more like it" if len(plucked) > 1 else ""
        place = _place(case, plucked[0])
        yield f"The {name} to {place} was plucked{more}: let the fretting hand alone sound it."


def _mistaken(note: HeardNote) -> float:
    """Chance that what is said of a note's attack is wrong."""
    return 0.0 if note.attack_confidence is None else 1 - note.attack_confidence


def _bends(case: _Case) -> Iterable[str]:
    bends = {index: note.bend for index, note in enumerate(case.notes) if note.bend is not None}
    for verdict, words in _BEND_WORDS.items():
        off = {index: abs(bend.off_cents or 0.0) for index, bend in bends.items() if bend.verdict is verdict}
        if off:
            worst = max(off, key=lambda index: (off[index], -index))
            more = f", and {len(off) - 1} more like it" if len(off) > 1 else ""
            yield f"The bend on {_place(case, worst)} {words[0]} by {off[worst]:.0f} cents{more}: {words[1]}."
    still = [
        index
        for index, note in enumerate(case.notes)
        if note.vibrato is not None and note.vibrato.verdict is VibratoVerdict.STILL
    ]
    if still:
        more = f", nor on {len(still) - 1} more" if len(still) > 1 else ""
        yield f"No vibrato was heard on {_place(case, still[0])}{more}: let the note settle, then swing it."


def _time(case: _Case) -> Iterable[str]:
    beat_s = _interval_s(case)
    finest_s = float(just_heard_s(_array(beat_s))[0])
    if abs(case.pulse.drift_percent) >= _DRIFT_PERCENT:
        way = "faster" if case.pulse.drift_percent > 0 else "slower"
        size = f"{abs(case.pulse.drift_percent):.0f} %"
        yield f"It gets {size} {way} from beginning to end: practise it with the click."
    if case.pulse.spread_s > max(finest_s, _EVEN_SHARE * beat_s):
        worst = max(
            (index for index, note in enumerate(case.notes) if note.timing_ms is not None),
            key=lambda index: abs(case.notes[index].timing_ms or 0.0),
        )
        off_ms = case.notes[worst].timing_ms or 0.0
        yield (
            f"The notes do not come evenly ({1000 * case.pulse.spread_s:.0f} ms either way): "
            f"{_place(case, worst)} is {_late(off_ms)}."
        )
        return
    for index, note in enumerate(case.notes):
        off_ms = note.timing_ms or 0.0
        if abs(off_ms) > 1000 * max(finest_s, _OFF_SHARE * beat_s):
            yield f"{_upper(_place(case, index))} comes {_late(off_ms)}."
            return


def _tune(case: _Case) -> Iterable[str]:
    for index, note in enumerate(case.notes):
        off_cents = note.pitch_cents or 0.0
        if note.verdict is Verdict.PLAYED and abs(off_cents) > _OUT_OF_TUNE_CENTS:
            way = "sharp" if off_cents > 0 else "flat"
            yield (
                f"{_upper(_place(case, index))} is {abs(off_cents):.0f} cents {way} of the others: "
                "press straight down, and check the tuning."
            )
            return


def _unsure(case: _Case) -> Iterable[str]:
    count = len(case.of(Verdict.UNSURE))
    if count > _MANY_UNSURE * len(case.notes):
        yield f"{count} of {len(case.notes)} notes could not be told: move closer to the microphone."


_REMARKS: Final[tuple[Callable[[_Case], Iterable[str]], ...]] = (
    _shifted,
    _wrong,
    _slurs,
    _bends,
    _time,
    _extra,
    _tune,
    _unsure,
)


def _praise(case: _Case) -> str:
    heard = len(case.of(Verdict.PLAYED))
    near = f"{1000 * case.pulse.spread_s:.0f} ms"
    return f"All {heard} notes that could be told came as written, within {near} of an even pulse."


def _next(case: _Case, bpm: float, ladder: Ladder, *, clean: bool) -> tuple[float, str]:
    """The rung to practise next: up after a clean take, down where notes fail, the same where time does."""
    rungs = ladder.rungs
    at = min(range(len(rungs)), key=lambda index: abs(rungs[index] - bpm))
    bad = len(case.of(Verdict.WRONG)) + len(case.of(Verdict.MISSED))
    if clean and at == len(rungs) - 1 and bpm >= rungs[at] * 0.97:
        return float(
            rungs[at]
        ), "You are at the goal: play it once more tomorrow, and then take the next exercise."
    if clean:
        step = min(at + 1, len(rungs) - 1) if bpm >= rungs[at] * 0.97 else at
        return float(rungs[step]), f"Go on to {rungs[step]} beats a minute."
    if bad > _MANY_WRONG * len(case.notes):
        step = max(0, at - 2)
        return float(
            rungs[step]
        ), f"Go back to {rungs[step]} beats a minute and play it there until every note comes."
    if bad:
        step = max(0, at - 1)
        return float(rungs[step]), f"Go back to {rungs[step]} beats a minute, that bar first."
    return float(rungs[at]), f"Stay at {rungs[at]} beats a minute until it comes evenly."


def _interval_s(case: _Case) -> float:
    gaps = sorted(
        two.onset_s - one.onset_s
        for one, two in zip(case.asked, case.asked[1:], strict=False)
        if two.onset_s > one.onset_s
    )
    return case.pulse.stretch * (gaps[len(gaps) // 2] if gaps else 1.0)


def _array(value: float) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    return np.array([value])


def _bar(timed: TimedNote) -> int:
    return int(timed.note.id[1 : timed.note.id.index("t")])


def _place(case: _Case, index: int) -> str:
    """A note as a teacher points at it: the third note of bar 2; where chords are struck, its stroke."""
    timed = case.asked[index]
    bar = _bar(timed)
    same = [one for one in case.asked if _bar(one) == bar and one.time_through == timed.time_through]
    onsets = sorted({one.onset_s for one in same})
    word, number = ("note" if len(onsets) == len(same) else "stroke"), onsets.index(timed.onset_s)
    if number >= len(_ORDINALS):
        return f"{word} {number + 1} of bar {bar}"
    return f"the {_ORDINALS[number]} {word} of bar {bar}"


def _late(off_ms: float) -> str:
    return f"{abs(off_ms):.0f} ms {'late' if off_ms > 0 else 'early'}"


def _upper(text: str) -> str:
    return text[0].upper() + text[1:]
