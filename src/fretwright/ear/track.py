"""The ear on a whole lesson: where on a long sound track is each of its exercises played, and how.

The track is heard twice, block by block: once to find the moments (:mod:`~fretwright.ear.track_scan`) among
which every exercise is looked for (:mod:`~fretwright.ear.track_search`), and once more to hear each stretch
that was found closely (:mod:`~fretwright.ear.track_rehear`).
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from fretwright.ear.arrays import Samples
from fretwright.ear.take import RATE_HZ, Refusal
from fretwright.ear.track_rehear import AFTER_S, BEFORE_S, Demonstration, agreement, rehear
from fretwright.ear.track_scan import scan
from fretwright.ear.track_search import Events, Found, Line, best_together, events_of, find_lines
from fretwright.ear.track_sound import UnheardError, sound_of
from fretwright.ear.track_unlisted import Unlisted, unlisted

_SILENT: Final = 10 ** (-62 / 20)
_SAME_SHARE: Final = 0.85
"""Two lines whose odds are this close over the same stretch sound the same, attacks aside."""
_CLEARLY: Final = 0.25

Heard = Callable[[float], None]
"""Called with how many seconds of the track have been heard; what it raises ends the work."""


@dataclass(frozen=True, slots=True)
class TrackHearing:
    """What a track holds."""

    demonstrations: tuple[Demonstration, ...]
    """In order of time; none overlaps another."""
    unlisted: tuple[Unlisted, ...]
    length_s: float


Opened = Callable[[], Iterator[Samples]]
"""Opens the sound anew: it is heard twice."""


def hear_track(path: Path, lines: Sequence[Line], heard_s: Heard = lambda _: None) -> TrackHearing | Refusal:
    """Find where each line is played in a recording; refused where it cannot be read or holds no playing."""

    def opened() -> Iterator[Samples]:
        with sound_of(path) as blocks:
            yield from blocks

    try:
        return hear_sound(opened, lines, heard_s)
    except UnheardError as unheard:
        return unheard.refusal


def hear_sound(
    opened: Opened, lines: Sequence[Line], heard_s: Heard = lambda _: None
) -> TrackHearing | Refusal:
    """The same for blocks of samples at the rate of analysis, time 0 being the first sample."""
    scanned = scan(opened(), heard_s)
    if scanned.loudest < _SILENT:
        return Refusal("The recording is silent.", "Check that the microphone was on.")
    playable = [place for place, line in enumerate(lines) if line.played.notes]
    events = {place: events_of(lines[place].played) for place in playable}
    found = find_lines([events[place] for place in playable], scanned.moments_s, scanned.odds)
    found = tuple(replace(one, line=playable[one.line]) for one in found)
    chosen = best_together(found)
    if not chosen:
        return Refusal(
            "None of the lesson's exercises is played in the recording.",
            "Check that it is the right lesson and that the guitar can be heard well.",
        )
    demonstrations = tuple(_reheard(opened(), lines, events, found, chosen))
    return TrackHearing(demonstrations, unlisted(scanned, demonstrations), scanned.length_s)


def _reheard(
    blocks: Iterator[Samples],
    lines: Sequence[Line],
    events: dict[int, Events],
    found: Sequence[Found],
    chosen: Sequence[Found],
) -> Iterator[Demonstration]:
    """Each chosen stretch heard closely; where several lines sound alike, the one that fits best."""
    latest = -1
    for one, (samples, begins_s) in zip(chosen, _cut(blocks, chosen), strict=True):
        rivals = [one, *_alike(one, found)]
        heard = [rehear(samples, begins_s, lines[each.line], events[each.line], each) for each in rivals]
        fits = [agreement(lines[each.line], told) for each, told in zip(rivals, heard, strict=True)]
        kept = [place for place, fit in enumerate(fits) if fit > max(fits) - _CLEARLY]
        # of those that sound alike to the last, the one that is shown already or comes next in the text
        place = min(kept, key=lambda place: (rivals[place].line < latest, rivals[place].line))
        latest = max(latest, rivals[place].line)
        yield replace(
            heard[place],
            also_fits=tuple(sorted(heard[other].name for other in kept if other != place)),
        )


def _alike(one: Found, found: Sequence[Found]) -> list[Found]:
    """The best stretch of every other line that explains the same sounds about as well."""
    length_s = one.end_s - one.start_s
    best: dict[int, Found] = {}
    for other in found:
        close = (
            other.line != one.line
            and other.score >= _SAME_SHARE * one.score
            and one.shared_s(other) >= _SAME_SHARE * max(length_s, other.end_s - other.start_s)
        )
        if close and (other.line not in best or other.score > best[other.line].score):
            best[other.line] = other
    return [best[line] for line in sorted(best)]


def _cut(blocks: Iterator[Samples], chosen: Sequence[Found]) -> Iterator[tuple[Samples, float]]:
    """The samples about each stretch and where they begin; only what is still needed is held."""
    held, begins = np.zeros(0, dtype=np.float32), 0
    for one in chosen:
        start = max(0, round((one.start_s - BEFORE_S) * RATE_HZ))
        stop = round((one.end_s + AFTER_S) * RATE_HZ)
        while begins + len(held) < stop:
            block = next(blocks, None)
            if block is None:
                break
            gone = min(len(held), max(0, start - begins))
            held, begins = np.concatenate([held[gone:], block]), begins + gone
        yield held[max(0, start - begins) : stop - begins], max(start, begins) / RATE_HZ
