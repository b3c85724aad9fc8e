"""Slurs that cannot sound, however they are played."""

from collections.abc import Iterator
from typing import Final

from fretwright.base.findings import Finding, Severity
from fretwright.check.case import Case
from fretwright.score.note import Attack, Note


def impossible_slurs(case: Case) -> Iterator[Finding]:
    """Hammer-ons that go down or onto an open string, pull-offs that go up, slurs that change nothing."""
    by_id = {note.id: note for note in case.score.notes}
    for note in case.score.notes:
        if note.slur_from is None:
            continue
        left = by_id[note.slur_from]
        wrong = _what_is_wrong(left, note)
        if wrong is not None:
            code, message, mend = wrong
            yield case.finding(code, Severity.ERROR, case.span_at(note, "slur", "from"), message, mend)


def _what_is_wrong(left: Note, note: Note) -> tuple[str, str, str] | None:
    """Code, message and mend for the slur from ``left`` to ``note``; None where it can sound."""
    if note.fret == left.fret:
        return (
            "slur-to-same-fret",
            f"A {note.attack.value} {_route(left, note)} changes nothing that could be heard.",
            "Change one of the two frets, or pluck the second note.",
        )
    rule = _RULES.get(note.attack)
    return rule(left, note) if rule else None


def _hammer_on(left: Note, note: Note) -> tuple[str, str, str] | None:
    if note.fret == 0:
        return (
            "hammer-on-to-open-string",
            f"No finger can hammer an open string ({_route(left, note)}).",
            "Write a pull-off, or pluck the open string.",
        )
    if note.fret < left.fret:
        return (
            "hammer-on-downwards",
            f"A hammer-on goes to a higher fret, this one goes {_route(left, note)}.",
            "Write a pull-off (p), or swap the two frets.",
        )
    return None


def _pull_off(left: Note, note: Note) -> tuple[str, str, str] | None:
    if note.fret < left.fret:
        return None
    return (
        "pull-off-upwards",
        f"A pull-off goes to a lower fret, this one goes {_route(left, note)}.",
        "Write a hammer-on (h), or swap the two frets.",
    )


def _slide(left: Note, note: Note) -> tuple[str, str, str] | None:
    if 0 not in (note.fret, left.fret):
        return None
    return (
        "slide-on-open-string",
        f"A finger cannot slide to or from an open string ({_route(left, note)}).",
        "Slide between two fretted notes, or pluck the open string.",
    )


def _route(left: Note, note: Note) -> str:
    return f"from fret {left.fret} to fret {note.fret} on string {note.string}"


_RULES: Final = {Attack.HAMMER_ON: _hammer_on, Attack.PULL_OFF: _pull_off, Attack.SLIDE: _slide}
