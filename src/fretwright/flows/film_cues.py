"""What stands beside a film over a recording: a cue sheet for editors, and the slips for the teacher.

The cue sheet is JSON in the shape of ``docs/schemas/cues.schema.json``.
"""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from fretwright.film.over import Showing
from fretwright.film.over_write import OverFilm
from fretwright.flows.film_slips import Shown, Slip, SlipKind


def cue_sheet(lesson: str, film: OverFilm, shown: Sequence[Shown], slips: Sequence[Slip]) -> str:
    """Everything that was found, with times in seconds from the recording's start."""
    footage = film.footage
    data = {
        "lesson": lesson,
        "recording": footage.path.name,
        "length_s": round(footage.length_s, 3),
        "rate": {"pictures": footage.rate.numerator, "seconds": footage.rate.denominator},
        "demonstrations": [_demonstration(each, card) for each, card in zip(shown, film.cards, strict=True)],
        "slips": [_slip(slip) for slip in slips],
        "chapters": [
            {"start_s": round(chapter.start_s, 3), "end_s": round(chapter.end_s, 3), "title": chapter.title}
            for chapter in film.chapters
        ],
        "captions": [
            {"start_s": round(cue.start_s, 3), "end_s": round(cue.end_s, 3), "text": cue.text}
            for cue in film.cues
        ],
    }
    return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


def _demonstration(shown: Shown, card: Showing) -> dict[str, Any]:
    heard, clock = shown.heard, card.scene.clock
    return {
        "exercise": shown.exercise.name,
        "title": shown.exercise.title,
        "also_fits": list(heard.also_fits),
        "complete": heard.complete,
        "tempo_bpm": round(clock.bpm, 1),
        "start_s": round(clock.notes[0].onset_s, 3),
        "end_s": round(max(note.onset_s + note.duration_s for note in clock.notes), 3),
        "card": {"from_s": round(card.from_s, 3), "until_s": round(card.until_s, 3)},
        "notes": [
            {
                "id": timed.note_id,
                "time_through": timed.pass_index + 1,
                "onset_s": round(timed.onset_s, 3),
                "duration_s": round(timed.duration_s, 3),
                "heard": note.verdict.value if heard.judged else None,
            }
            for timed, note in zip(clock.notes, heard.notes, strict=True)
        ],
    }


def _slip(slip: Slip) -> dict[str, Any]:
    return {
        "kind": slip.kind.value,
        "message": slip.message,
        "start_s": None if slip.start_s is None else round(slip.start_s, 3),
        "end_s": None if slip.end_s is None else round(slip.end_s, 3),
        "exercise": slip.exercise,
        "note": slip.note,
    }


def slip_report(recording: str, shown: Sequence[Shown], slips: Sequence[Slip]) -> str:
    """The same for reading: what is played when, and under it what differs from the text."""
    return "\n".join(_report_lines(recording, shown, slips)) + "\n"


def _report_lines(recording: str, shown: Sequence[Shown], slips: Sequence[Slip]) -> Iterator[str]:
    yield f"What is played in {recording}, beside what the lesson's text has."
    yield ""
    timed = [(each.playing.starts_s, list(_told(each, slips))) for each in shown]
    timed += [
        (slip.start_s, [f"{stamp(slip.start_s)}-{stamp(slip.end_s)}  {slip.message}"])
        for slip in slips
        if slip.kind is SlipKind.UNLISTED and slip.start_s is not None and slip.end_s is not None
    ]
    for _, lines in sorted(timed, key=lambda pair: pair[0]):
        yield from lines
    absent = [slip.message for slip in slips if slip.kind is SlipKind.NOT_PLAYED]
    if absent:
        yield ""
        yield from absent
    yield ""
    yield "The ear can be mistaken: listen at these places before you film again."


def _told(shown: Shown, slips: Sequence[Slip]) -> Iterator[str]:
    """One demonstration and its own slips."""
    start_s, end_s = shown.playing.starts_s, shown.playing.ends_s
    own = [
        slip
        for slip in slips
        if slip.exercise == shown.exercise.name
        and slip.start_s is not None
        and start_s - 1 <= slip.start_s <= end_s + 1
    ]
    part = "" if shown.heard.complete else ", in part"
    verdict = "" if own else ": as written" if shown.heard.judged else ": chords are not judged"
    alike = f" (sounds the same as {', '.join(shown.heard.also_fits)})" if shown.heard.also_fits else ""
    yield (
        f"{stamp(start_s)}-{stamp(end_s)}  {shown.exercise.title}, {shown.heard.bpm:.0f} beats a minute"
        f"{part}{verdict}{alike}"
    )
    for slip in own:
        yield f"    {stamp(slip.start_s or 0.0)}  {slip.message}"


def stamp(time_s: float) -> str:
    """Hours where there are any, minutes, seconds and tenths."""
    tenths = round(time_s * 10)
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    clock = f"{minutes:02}:{rest // 10:02}.{rest % 10}"
    return f"{hours}:{clock}" if hours else clock
