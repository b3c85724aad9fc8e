"""The chords of a score as a band reads them: bar by bar in playing order, repeats taken."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from fretwright.base.errors import NotationError, RenderError
from fretwright.score.score import Bar, LabelKind, Score
from fretwright.score.unfold import unfold
from fretwright.theory.chord import Chord

NO_CHORD = ("NC", "N.C.", "N.C")
"""Names that ask the band to leave the harmony out."""


@dataclass(frozen=True, slots=True)
class Change:
    """One chord and where it stands in its bar."""

    chord: Chord | None
    """None where no harmony is played."""
    beat: Fraction
    """Beats of the bar that have passed when it starts."""
    beats: Fraction
    """How many beats of this bar it lasts."""


@dataclass(frozen=True, slots=True)
class PlayedChanges:
    """One bar of the performance."""

    bar: Bar
    start_s: float
    beat_s: float
    """How long each of its beats lasts."""
    beats: Fraction
    """How many beats it has; fewer than its meter's in a pickup."""
    changes: tuple[Change, ...]

    def time_s(self, beat: Fraction) -> float:
        """When a beat of the bar falls, from the start of the score."""
        return self.start_s + float(beat) * self.beat_s


def changes_of(score: Score, bpm: float | None = None) -> tuple[PlayedChanges, ...]:
    """Every played bar with its chords; a chord stays until the next name.

    A tempo that changes inside a bar is taken as its mean. Raises
    :class:`~fretwright.base.errors.RenderError` where a name is no chord, and where no chord is named.
    """
    tempo = score.tempo if bpm is None else score.tempo.at_start(bpm)
    named = _named(score)
    played = []
    now_s = 0.0
    for each in unfold(score.bars):
        bar = each.bar
        length_s = tempo.seconds_between(bar.start, bar.end)
        beats = bar.length / bar.meter.beat
        changes = tuple(_inside(bar, named))
        played.append(PlayedChanges(bar, now_s, length_s / float(beats), beats, changes))
        now_s += length_s
    return tuple(played)


def _named(score: Score) -> list[tuple[Fraction, Chord | None]]:
    named: list[tuple[Fraction, Chord | None]] = []
    for label in score.labels:
        if label.kind is not LabelKind.CHORD:
            continue
        try:
            chord = None if label.text.upper() in NO_CHORD else Chord.parse(label.text)
        except NotationError as error:
            raise RenderError(f"The band cannot play {label.text!r}. {error.message}", error.mend) from error
        named.append((label.at, chord))
    if not any(chord for _, chord in named):
        raise RenderError(
            f"{score.name} names no chords, so that a band has nothing to play.",
            "Write chord names over its bars.",
        )
    return named


def _inside(bar: Bar, named: Sequence[tuple[Fraction, Chord | None]]) -> list[Change]:
    """The chords that sound in a bar; before the first name there is none."""
    first = bisect_right(named, bar.start, key=lambda pair: pair[0]) - 1
    sounding = [(bar.start, named[first][1] if first >= 0 else None)]
    sounding += [(at, chord) for at, chord in named if bar.start < at < bar.end]
    ends = [at for at, _ in sounding[1:]] + [bar.end]
    beat = bar.meter.beat
    return [
        Change(chord, (at - bar.start) / beat, (end - at) / beat)
        for (at, chord), end in zip(sounding, ends, strict=True)
    ]
