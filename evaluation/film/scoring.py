"""How right the ear was about one track.

A demonstration is found where one of the same exercise is told that shares at least half of their common
span, first to last onset; each counts once. Note times are those of the overlay: the film's own clock, which
also places notes that the ear did not hear. Speech is overlaid where a card is on the screen while somebody
speaks.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import soxr
from evaluation.ear.guitars import RATE_HZ as TRACK_RATE_HZ
from evaluation.film.tracks import Played, Track

from fretwright.ear.take import RATE_HZ, Refusal
from fretwright.ear.track import TrackHearing, hear_sound
from fretwright.ear.track_rehear import Demonstration
from fretwright.ear.track_search import Line
from fretwright.ear.verdicts import Verdict
from fretwright.film.clock_played import clock_played
from fretwright.film.over import LEAD_S, TRAIL_S
from fretwright.score.playing import Playing
from fretwright.score.timeline import timeline

_HALF: Final = 0.5
_BLOCK: Final = 30 * RATE_HZ


@dataclass(slots=True)
class Outcome:
    """Figures of one track."""

    name: str
    guitar: str
    condition: str
    length_s: float
    due: int = 0
    """Demonstrations that have to be found."""
    found: int = 0
    """Of those."""
    false: int = 0
    """Told, and nobody played it."""
    parts: int = 0
    """Found, though so little was played that they need not have been."""
    errors_s: list[float] = field(default_factory=list)
    """Of every note played in a demonstration that was found: overlay less truth."""
    over_speech_s: float = 0.0
    spoken_s: float = 0.0
    false_slips: int = 0
    """Notes called wrong or missed that were played as written, and extras where there are none."""
    right_notes: int = 0
    unlisted: int = 0
    """Playing told to be none of the lesson's exercises; all of it is."""
    missed: list[str] = field(default_factory=list)


def heard_of(track: Track, leave_out: Sequence[str] = ()) -> TrackHearing | Refusal:
    """What the ear says of a track, given the lesson's exercises, some of them left out."""
    samples = soxr.resample(track.samples, TRACK_RATE_HZ, RATE_HZ).astype(np.float32)
    lines = [Line(name, timeline(score)) for name, score in track.scores.items() if name not in leave_out]
    return hear_sound(
        lambda: (samples[start : start + _BLOCK] for start in range(0, len(samples), _BLOCK)), lines
    )


def score(track: Track, heard: TrackHearing | Refusal) -> Outcome:
    """Compare what was told with what happened."""
    out = Outcome(track.name, track.guitar, track.condition, len(track.samples) / TRACK_RATE_HZ)
    out.spoken_s = sum(until - begin for begin, until in track.spoken)
    told = [] if isinstance(heard, Refusal) else list(heard.demonstrations)
    out.unlisted = 0 if isinstance(heard, Refusal) else len(heard.unlisted)
    for one in told:
        out.over_speech_s += _over_speech(track, one)
    for played in track.played:
        match = next(
            (one for one in told if one.name == played.exercise and _share(played, one) > _HALF), None
        )
        out.due += played.must_be_found
        if match is None:
            if played.must_be_found:
                out.missed.append(f"{track.name}: {played.exercise} at {played.notes[0][1]:.0f} s")
            continue
        told.remove(match)
        out.found += played.must_be_found
        out.parts += not played.must_be_found
        _compare(out, track, played, match)
    out.false = len(told)
    return out


def _onsets(one: Demonstration) -> list[float]:
    return [note.onset_s for note in one.notes if note.onset_s is not None]


def _share(played: Played, told: Demonstration) -> float:
    """Of their common span, how much both have."""
    begin, end = played.notes[0][1], played.notes[-1][1]
    first, last = min(_onsets(told)), max(_onsets(told))
    return max(0.0, min(end, last) - max(begin, first)) / (max(end, last) - min(begin, first))


def _playing(told: Demonstration) -> Playing:
    return Playing(
        told.first, tuple(note.onset_s for note in told.notes), told.clear_from_s, told.clear_until_s
    )


def _compare(out: Outcome, track: Track, played: Played, told: Demonstration) -> None:
    clock = clock_played(track.scores[played.exercise], _playing(told))
    at = {told.first + place: note.onset_s for place, note in enumerate(clock.notes)}
    verdicts = {told.first + place: note.verdict for place, note in enumerate(told.notes)}
    for index, onset_s, right in played.notes:
        out.errors_s.append(at[index] - onset_s if index in at else float("inf"))
        if right and index in verdicts:
            out.right_notes += 1
            out.false_slips += verdicts[index] in {Verdict.WRONG, Verdict.MISSED}
    out.false_slips += max(0, len(told.extras) - played.extras)


def _over_speech(track: Track, told: Demonstration) -> float:
    """How long a demonstration's card stands while somebody speaks."""
    playing = _playing(told)
    clock = clock_played(track.scores[told.name], playing)
    from_s = max(playing.clear_from_s, playing.starts_s - LEAD_S)
    until_s = min(max(playing.clear_until_s, playing.ends_s), clock.music_ends_s + TRAIL_S)
    return sum(max(0.0, min(end, until_s) - max(begin, from_s)) for begin, end in track.spoken)
