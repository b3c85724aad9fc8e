"""The practise flow as far as it stands: take -> align to score -> judge -> verdicts.

``hear`` is the documented function behind ``fretwright hear``; its data is ``docs/schemas/hear.schema.json``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from fretwright.base.errors import UsageError
from fretwright.check.check import Checked
from fretwright.ear.listen import listen
from fretwright.ear.take import Refusal, Take, read_take
from fretwright.ear.verdicts import (
    BendVerdict,
    HeardBend,
    HeardNote,
    HeardStroke,
    HeardVibrato,
    Hearing,
    VibratoVerdict,
)
from fretwright.flows.inspect import columns
from fretwright.score.timeline import timeline


def hear(checked: Checked, name: str, path: Path, bpm: float | None = None) -> Hearing | Refusal:
    """Listen to the recording at ``path`` as a take of the exercise ``lesson/exercise``.

    ``bpm`` is the tempo it was asked for, by default the ladder's first rung; a take within about 40 % of
    it is found. Raises :class:`~fretwright.base.errors.UsageError` if the course has no such exercise,
    the file does not exist, or the exercise has no notes.
    """
    exercise = checked.course.exercise(name)
    if not path.is_file():
        raise UsageError(f"There is no file {path}.", "Give the recording's path.")
    played = timeline(checked.fingered[exercise.name].score, bpm or exercise.ladder.start_bpm)
    take = read_take(path)
    return listen(take, played, exercise.ladder) if isinstance(take, Take) else take


def hearing_data(name: str, heard: Hearing | Refusal) -> dict[str, Any]:
    """A hearing or a refusal in the shape of ``docs/schemas/hear.schema.json``."""
    if isinstance(heard, Refusal):
        return {"refused": {"reason": heard.reason, "mend": heard.mend}}
    return {
        "exercise": name,
        "tempo_bpm": heard.tempo_bpm,
        "start_s": heard.start_s,
        "tuning_cents": heard.tuning_cents,
        "passes": [
            {"start_s": one.start_s, "end_s": one.end_s, "complete": one.complete} for one in heard.passes
        ],
        "notes": [_note(note) for note in heard.notes],
        "strokes": [_stroke(stroke, heard.notes) for stroke in heard.strokes],
        "extras": [{"onset_s": extra.onset_s, "midi": extra.midi} for extra in heard.extras],
        "summary": {
            "headline": heard.advice.headline,
            "timing_spread_ms": heard.timing_spread_ms,
            "mean_offset_ms": heard.mean_offset_ms,
            "drift_percent": heard.drift_percent,
        },
        "next": {"tempo_bpm": heard.advice.next_bpm, "advice": heard.advice.next_words},
    }


def _note(note: HeardNote) -> dict[str, Any]:
    return {
        "id": note.id,
        "verdict": note.verdict.value,
        "onset_s": note.onset_s,
        "timing_ms": note.timing_ms,
        "heard_midi": note.heard_midi,
        "pitch_cents": note.pitch_cents,
        "level_db": note.level_db,
        "attack": None if note.attack is None else note.attack.value,
        "confidence": note.confidence,
        "attack_confidence": note.attack_confidence,
        "bend": None if note.bend is None else asdict(note.bend),
        "vibrato": None if note.vibrato is None else asdict(note.vibrato),
    }


def _stroke(stroke: HeardStroke, notes: Sequence[HeardNote]) -> dict[str, Any]:
    return {
        "notes": [notes[place].id for place in stroke.places],
        "onset_s": stroke.onset_s,
        "timing_ms": stroke.timing_ms,
        "spread_ms": stroke.spread_ms,
        "level_db": stroke.level_db,
    }


def hearing_text(heard: Hearing) -> str:
    """The same for reading: what to mend, then one note a line."""
    head = [heard.advice.headline, *heard.advice.observations, heard.advice.next_words]
    facts = (
        f"Played at {heard.tempo_bpm:g} beats a minute, tuned {heard.tuning_cents:+.0f} cents from "
        f"A = 440 Hz; notes lie within {heard.timing_spread_ms:.0f} ms of an even pulse."
    )
    rows = [("note", "verdict", "time", "early or late", "cents", "level", "attack", "sure", "bend, vibrato")]
    rows += [
        (
            note.id,
            note.verdict.value,
            _shown(note.onset_s, "{:.3f} s"),
            _shown(note.timing_ms, "{:+.0f} ms"),
            _shown(note.pitch_cents, "{:+.0f}"),
            _shown(note.level_db, "{:+.0f} dB"),
            "" if note.attack is None else note.attack.value,
            f"{100 * note.confidence:.0f} %",
            ", ".join([*bend_words(note.bend), *vibrato_words(note.vibrato)]),
        )
        for note in heard.notes
    ]
    return "\n".join([*head, "", facts, "", *columns(rows), *_stroke_lines(heard)])


def _stroke_lines(heard: Hearing) -> Iterator[str]:
    """Of an exercise with chords one stroke a line: when it came, and how long the hand took."""
    if not heard.strokes:
        return
    yield ""
    rows = [("stroke", "time", "early or late", "spread", "level")]
    rows += [
        (
            heard.notes[stroke.places[0]].id,
            "not heard" if stroke.onset_s is None else f"{stroke.onset_s:.3f} s",
            _shown(stroke.timing_ms, "{:+.0f} ms"),
            _shown(stroke.spread_ms, "{:.0f} ms"),
            _shown(stroke.level_db, "{:+.0f} dB"),
        )
        for stroke in heard.strokes
    ]
    yield from columns(rows)


def bend_words(bend: HeardBend | None) -> Iterator[str]:
    """What became of a bend, in a few words each; nothing where none is written."""
    if bend is None:
        return
    if bend.verdict is BendVerdict.UNSURE or bend.off_cents is None:
        yield "bend: cannot tell"
        return
    way = "sharp" if bend.off_cents > 0 else "short"
    yield f"bend {abs(bend.off_cents):.0f} cents {way}"
    if bend.reach_ms is not None:
        yield f"there after {bend.reach_ms:.0f} ms"
    if bend.start_off_cents is not None:
        yield f"struck at {bend.start_off_cents:+.0f}"
    if bend.end_off_cents is not None:
        yield f"let down to {bend.end_off_cents:+.0f}"


def vibrato_words(vibrato: HeardVibrato | None) -> Iterator[str]:
    """The same of a vibrato."""
    if vibrato is None:
        return
    if vibrato.verdict is VibratoVerdict.SWINGS:
        yield f"vibrato {vibrato.rate_hz:.1f} a second, {vibrato.width_cents:.0f} cents wide"
    else:
        still = vibrato.verdict is VibratoVerdict.STILL
        yield "no vibrato" if still else "vibrato: cannot tell"


def _shown(value: float | None, form: str) -> str:
    return "" if value is None else form.format(value)
