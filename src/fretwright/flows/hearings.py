"""A hearing as data that can be stored and read back without loss."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from fretwright.base.errors import UsageError
from fretwright.ear.verdicts import (
    Advice,
    BendVerdict,
    HeardAttack,
    HeardBend,
    HeardExtra,
    HeardNote,
    HeardPass,
    HeardStroke,
    HeardVibrato,
    Hearing,
    Verdict,
    VibratoVerdict,
)


def stored_hearing(heard: Hearing) -> dict[str, Any]:
    """Everything that was heard, as a JSON document."""
    return asdict(heard)


def hearing_of(stored: Mapping[str, Any]) -> Hearing:
    """A stored hearing, as the ear gave it.

    Raises :class:`~fretwright.base.errors.UsageError` if the document is not one.
    """
    try:
        return Hearing(
            **{
                **stored,
                "passes": tuple(HeardPass(**each) for each in stored["passes"]),
                "notes": tuple(_note(each) for each in stored["notes"]),
                "extras": tuple(HeardExtra(**each) for each in stored["extras"]),
                "advice": _advice(stored["advice"]),
                # takes that were judged before chords were heard have none
                "strokes": tuple(_stroke(each) for each in stored.get("strokes", ())),
            }
        )
    except (KeyError, TypeError) as error:
        raise UsageError("What is stored of that take is not a hearing.", "Have it judged again.") from error


def _note(stored: Mapping[str, Any]) -> HeardNote:
    attack, bend, vibrato = stored["attack"], stored.get("bend"), stored.get("vibrato")
    return HeardNote(
        **{
            **stored,
            "verdict": Verdict(stored["verdict"]),
            "attack": None if attack is None else HeardAttack(attack),
            # takes that were judged before bends were have neither
            "bend": bend and HeardBend(**{**bend, "verdict": BendVerdict(bend["verdict"])}),
            "vibrato": vibrato and HeardVibrato(**{**vibrato, "verdict": VibratoVerdict(vibrato["verdict"])}),
        }
    )


def _stroke(stored: Mapping[str, Any]) -> HeardStroke:
    return HeardStroke(**{**stored, "places": tuple(stored["places"])})


def _advice(stored: Mapping[str, Any]) -> Advice:
    return Advice(**{**stored, "observations": tuple(stored["observations"])})
