"""What comes of one question."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Answer:
    """One question's outcome."""

    title: str
    bar: str
    """What was asked for, in words."""
    reached: bool
    summary: str
    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
