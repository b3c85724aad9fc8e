"""One real performance of a score, as data: which of its notes started when.

Whoever has heard it (an ear, a person with a stopwatch) fills it in; whoever shows the score in time with it
knows nothing of where it comes from.
"""

from dataclasses import dataclass

from fretwright.base.errors import ScoreError


@dataclass(frozen=True, slots=True)
class Playing:
    """One time that a score, or a part of it, was played. All times are those of the recording."""

    first: int
    """Place of its first note in the score's :class:`~fretwright.score.timeline.Timeline`."""
    onsets_s: tuple[float | None, ...]
    """From that note on, one for each note up to the last that was played; ``None`` where none was heard."""
    clear_from_s: float
    """Nothing else is heard from here to the first note."""
    clear_until_s: float
    """Nothing else is heard from the last note to here."""

    def __post_init__(self) -> None:
        if sum(onset is not None for onset in self.onsets_s) < 2:
            raise ScoreError("a performance has at least two notes that were heard")

    @property
    def last(self) -> int:
        """Place of its last note."""
        return self.first + len(self.onsets_s) - 1

    @property
    def starts_s(self) -> float:
        """When the first of its notes that was heard starts."""
        return min(onset for onset in self.onsets_s if onset is not None)

    @property
    def ends_s(self) -> float:
        """When the last of its notes that was heard starts."""
        return max(onset for onset in self.onsets_s if onset is not None)
