"""The sound tracks: a made-up lesson, talked about and played, with everything that happens written down.

A track is what a phone on a stand hears while a teacher films a lesson: talk, pauses, each exercise slow
and fast, again, broken off and begun anew, a slip now and then, in a room. All is drawn from one seed.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np
from evaluation.ear.corrupting import noise, reverb
from evaluation.ear.exercises import exercise
from evaluation.ear.guitars import RATE_HZ, REPORTED_ON, TUNED_ON, Floats
from evaluation.ear.performing import Manner, Performance, perform
from evaluation.ear.sounding import sound_of
from evaluation.film.speaking import TALK, VOICES, spoken

from fretwright.flows.reading import check_course
from fretwright.score.score import Score

COURSE: Final = Path("demo")
LESSONS: Final = ("03-lantern-shape", "04-hammer-ons", "05-pull-offs", "07-first-lick", "08-moving-house")
"""Lessons of the demo whose exercises are much alike: one is a part of another, or the same with slurs."""
TUNED_SEED: Final = 60_411
"""Constants were set after looking at tracks of this seed, on all guitars."""
SEED: Final = 81_117
_LEAST_PART: Final = 6
"""A demonstration that is broken off sooner is a false start that need not be found."""


@dataclass(frozen=True, slots=True)
class Played:
    """One time that an exercise was played."""

    exercise: str
    notes: tuple[tuple[int, float, bool], ...]
    """Index of the expected note, when it started in seconds, and whether as written."""
    expected: int
    """How many notes the exercise has."""
    extras: int

    @property
    def complete(self) -> bool:
        """Whether it was played to its end."""
        return self.notes[0][0] == 0 and self.notes[-1][0] == self.expected - 1

    @property
    def must_be_found(self) -> bool:
        """Whether enough was played to tell what it is."""
        return self.complete or len(self.notes) >= max(_LEAST_PART, self.expected // 3)


@dataclass(slots=True)
class Track:
    """A sound track with all that is known of it."""

    name: str
    scores: Mapping[str, Score]
    """The lesson: exercise -> fingered score with its tempo at the start of the ladder."""
    guitar: str
    condition: str
    samples: Floats = field(default_factory=lambda: np.zeros(0))
    """Mono at the guitars' rate."""
    played: list[Played] = field(default_factory=list)
    spoken: list[tuple[float, float]] = field(default_factory=list)
    """From when to when somebody speaks."""


CONDITIONS: Final = ("room", "near", "noisy")


def tracks(count: int, *, reported: bool, seed: int = SEED) -> Iterator[Track]:
    """That many tracks; every other lesson is the demo's, the rest are made by chance."""
    guitars = [guitar for guitar in (REPORTED_ON if reported else TUNED_ON) if guitar != "muted"]
    demo = check_course(COURSE)
    for index in range(count):
        rng = np.random.default_rng([seed, int(reported), index])
        if index % 2:
            lesson = LESSONS[index // 2 % len(LESSONS)]
            scores = {
                each.id: replace(
                    demo.score_of(each), tempo=demo.score_of(each).tempo.at_start(each.ladder.start_bpm)
                )
                for each in demo.course.exercises
                if each.lesson == lesson
            }
            name = f"{lesson}-{index}"
        else:
            scores = {f"made-{place}": exercise(rng) for place in range(3)}
            name = f"made-{index}"
        condition = CONDITIONS[index // len(guitars) % len(CONDITIONS)]
        yield track(name, scores, guitars[index % len(guitars)], condition, rng)


def track(
    name: str, scores: Mapping[str, Score], guitar: str, condition: str, rng: np.random.Generator
) -> Track:
    """One track: the exercises in their order, each shown once or more, with talk between."""
    made = Track(name, scores, guitar, condition)
    voice, pace = str(rng.choice(VOICES)), int(rng.integers(140, 185))
    cents = float(rng.uniform(-15, 15))
    pieces: list[Floats] = []
    now = 0

    def add(piece: Floats) -> None:
        nonlocal now
        pieces.append(piece)
        now += len(piece)

    def pause(least_s: float, most_s: float) -> None:
        add(np.zeros(round(rng.uniform(least_s, most_s) * RATE_HZ)))

    def say(words: str) -> None:
        said = spoken(words, voice, pace) * 10 ** (rng.uniform(-6, 4) / 20)
        made.spoken.append((now / RATE_HZ, (now + len(said)) / RATE_HZ))
        add(said)

    pause(0.3, 1.5)
    say(TALK[0])
    for exercise_name, score in scores.items():
        pause(0.3, 1.2)
        say(str(rng.choice(TALK)))
        for ratio in _tempos(rng):
            pause(0.2, 1.2)
            performance = perform(score, _manner(rng, ratio), rng)
            sound = sound_of(performance, guitar, "jump" if rng.random() < 0.5 else "crossfade", cents, rng)
            # perform() begins with a short silence of its own
            made.played += _known(exercise_name, performance, now / RATE_HZ)
            add(sound)
            if rng.random() < 0.7:
                pause(0.1, 0.8)
                say(str(rng.choice(TALK)))
    pause(0.3, 1.5)
    samples = np.concatenate(pieces)
    if condition == "room":
        samples = reverb(0.4)(samples, rng)
    samples = noise(25.0 if condition == "noisy" else 40.0)(samples, rng)
    made.samples = samples * (0.6 / np.abs(samples).max())
    return made


def talk(number: int, length_s: float) -> Track:
    """Nothing but a teacher's talk, and a lesson to look for in it."""
    rng = np.random.default_rng([SEED, 7, number])
    made = Track(f"talk-{number}", {f"made-{place}": exercise(rng) for place in range(3)}, "none", "talk")
    voice = VOICES[number % len(VOICES)]
    pieces: list[Floats] = []
    while sum(map(len, pieces)) < length_s * RATE_HZ:
        pieces += [spoken(str(rng.choice(TALK)), voice, int(rng.integers(140, 185)))]
        pieces += [np.zeros(round(rng.uniform(0.1, 1.0) * RATE_HZ))]
    made.samples = noise(40.0)(np.concatenate(pieces), rng)
    return made


def _tempos(rng: np.random.Generator) -> list[float]:
    """Slow, as written, fast; one to three of them, one perhaps again."""
    slow, fast = float(rng.uniform(0.6, 0.85)), float(rng.uniform(1.15, 1.6))
    kinds = [[1.0], [slow, fast], [slow, 1.0, fast], [slow, slow, fast]]
    return kinds[int(rng.integers(len(kinds)))]


def _manner(rng: np.random.Generator, ratio: float) -> Manner:
    faulty = rng.random() < 0.3
    return Manner(
        tempo_ratio=ratio,
        jitter_ms=float(rng.uniform(3, 9)),
        wrong=0.03 if faulty else 0.0,
        missed=0.03 if faulty else 0.0,
        extra=0.03 if faulty else 0.0,
        level_spread_db=float(rng.uniform(1, 2.5)),
        restart=str(rng.choice(["none", "start", "bar", "twice"], p=[0.7, 0.1, 0.1, 0.1])),
    )


def _known(name: str, performance: Performance, from_s: float) -> Iterator[Played]:
    """What was played, one for each stretch between two beginnings."""
    for stretch in range(len(performance.begins)):
        own = [one for one in performance.struck if one.stretch == stretch]
        notes = tuple(
            (one.expected, from_s + one.onset_s, one.midi == performance.expected[one.expected].note.midi)
            for one in own
            if one.expected is not None
        )
        if notes:
            yield Played(name, notes, len(performance.expected), len(own) - len(notes))
