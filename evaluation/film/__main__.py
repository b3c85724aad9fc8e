"""``python -m evaluation.film [--quick] [--tuned]``: the exercises on a lesson's track, found and timed.

``--quick`` takes four tracks and writes nothing; ``--tuned`` takes the guitars and the seed that constants
were set with and writes nothing.
"""

import sys
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from evaluation.ear import guitars
from evaluation.film import speaking
from evaluation.film.scoring import Outcome, heard_of, score
from evaluation.film.tracks import SEED, TUNED_SEED, Track, talk, tracks
from evaluation.reporting import BAR_HEADING, Row, into_readme, quick_or_tuned, table, yes

from fretwright.ear.take import Refusal

_FIGURES = Path(__file__).with_name("figures.md")
_TRACKS, _QUICK_TRACKS = 24, 4
_TALKS, _TALK_S = 4, 300.0
_NEAR_S = 0.020
_HEAD = """# Films over a recording, measured

Made by `python -m evaluation.film`; what each figure means is in `evaluation/README.md`.
{count} sound tracks of {minutes:.0f} minutes; slurs are synthetic, the voice is a synthesiser's, and no hand
played any of it."""


def _bars(outcomes: Sequence[Outcome], talks: Sequence[int], hidden: tuple[int, int]) -> list[Row]:
    due, right = sum(one.due for one in outcomes), sum(one.found for one in outcomes)
    false = sum(one.false for one in outcomes)
    told = right + false
    errors = np.abs(np.concatenate([one.errors_s for one in outcomes]))
    near = float(np.mean(errors <= _NEAR_S))
    over_s = sum(one.over_speech_s for one in outcomes)
    spoken_s = sum(one.spoken_s for one in outcomes)
    rows: list[tuple[str, str, str, bool]] = [
        ("exercises found", "P ≥ 0.98", f"{right / told:.3f} ({told} told)", right / told >= 0.98),
        ("", "R ≥ 0.98", f"{right / due:.3f} ({due} played)", right / due >= 0.98),
        ("notes of the overlay within 20 ms", "≥ 98 %", f"{100 * near:.2f} % of {len(errors)}", near >= 0.98),
        ("overlay while somebody speaks", "none", f"{over_s:.2f} s of {spoken_s:.0f} s", over_s == 0.0),
        ("talk alone", "nothing found", f"{sum(talks)} found in {len(talks)} talks", sum(talks) == 0),
        (
            "an exercise that the text lacks",
            "all told",
            f"{hidden[0]} of {hidden[1]} demonstrations",
            hidden[0] == hidden[1],
        ),
    ]
    return [(question, bar, found, yes(reached=reached)) for question, bar, found, reached in rows]


def _facts(outcomes: Sequence[Outcome]) -> list[Row]:
    """What has no bar."""
    errors = np.abs(np.concatenate([one.errors_s for one in outcomes]))
    slips, right = sum(one.false_slips for one in outcomes), sum(one.right_notes for one in outcomes)
    hours = sum(one.spoken_s for one in outcomes) / 3600
    return [
        ("error of a note's time, median", f"{1000 * np.median(errors):.1f} ms"),
        ("the same, 99 of 100", f"{1000 * np.quantile(errors, 0.99):.0f} ms"),
        ("slips told of notes played as written", f"{100 * slips / right:.1f} of 100"),
        (
            "talk taken for playing that the text lacks",
            f"{sum(one.unlisted for one in outcomes) / hours:.0f} an hour",
        ),
        ("false starts of a few notes found", str(sum(one.parts for one in outcomes))),
    ]


def _hidden(track: Track) -> tuple[int, int]:
    """Demonstrations told to be unlisted when the lesson's last exercise is left out, of how many."""
    last = list(track.scores)[-1]
    heard = heard_of(track, leave_out=[last])
    told = due = 0
    for played in track.played:
        if played.exercise == last and played.must_be_found and not isinstance(heard, Refusal):
            begin, end = played.notes[0][1], played.notes[-1][1]
            due += 1
            told += any(one.start_s < end and one.end_s > begin for one in heard.unlisted)
    return told, due


def _groups(outcomes: Sequence[Outcome], by: str) -> list[Row]:
    rows: list[Row] = []
    for group in sorted({getattr(one, by) for one in outcomes}):
        some = [one for one in outcomes if getattr(one, by) == group]
        errors = np.abs(np.concatenate([one.errors_s for one in some]))
        rows.append(
            (
                group,
                f"{sum(one.found for one in some)} of {sum(one.due for one in some)}",
                str(sum(one.false for one in some)),
                f"{100 * np.mean(errors <= _NEAR_S):.1f} %",
            )
        )
    return rows


def main() -> int:
    """Run it; the exit code says whether all bars were reached."""
    asked = quick_or_tuned("evaluation.film")
    guitars.require()
    speaking.require()
    count = _QUICK_TRACKS if asked.quick else _TRACKS
    outcomes: list[Outcome] = []
    hidden_told = hidden_due = 0
    spent_s = 0.0
    for track in tracks(count, reported=not asked.tuned, seed=TUNED_SEED if asked.tuned else SEED):
        begun = time.perf_counter()
        heard = heard_of(track)
        spent_s += time.perf_counter() - begun
        outcomes.append(score(track, heard))
        # in the lessons of the demo one exercise is a part of another, and is found as that
        if track.name.startswith("made"):
            told, due = _hidden(track)
            hidden_told, hidden_due = hidden_told + told, hidden_due + due
    pace = sum(one.length_s for one in outcomes) / spent_s
    talks = [_found_in_talk(talk(number, _TALK_S)) for number in range(1 if asked.quick else _TALKS)]
    rows = _bars(outcomes, talks, (hidden_told, hidden_due))
    group_heading = ("", "found", "told and not played", "notes within 20 ms")
    minutes = sum(one.length_s for one in outcomes) / 60
    missed = [f"- {line}" for one in outcomes for line in one.missed]
    chapters = [
        _HEAD.format(count=len(outcomes), minutes=minutes),
        table(BAR_HEADING, rows),
        f"## Without a bar\n\n{table(('', ''), _facts(outcomes))}",
        f"## By guitar\n\n{table(group_heading, _groups(outcomes, 'guitar'))}",
        f"## By room\n\n{table(group_heading, _groups(outcomes, 'condition'))}",
        "\n".join(["## Not found\n", *(missed or ["Nothing."])]),
    ]
    text = "\n\n".join(chapters) + "\n"
    print(text)
    print(f"Heard {pace:.0f} times as fast as it was played, on this machine, as busy as it was.")
    if not asked.quick and not asked.tuned:
        _FIGURES.write_text(text, encoding="utf-8")
        into_readme("film", chapters[1])
    return 0 if all(row[-1] == "yes" for row in rows) else 1


def _found_in_talk(track: Track) -> int:
    heard = heard_of(track)
    return 0 if isinstance(heard, Refusal) else len(heard.demonstrations)


if __name__ == "__main__":
    sys.exit(main())
