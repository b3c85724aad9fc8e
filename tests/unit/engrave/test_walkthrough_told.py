"""Nothing is lost in the walk-through: its words alone give back every note of the score.

The listener below shares no code with the teller. It reads the sentences as a student hears them, and
plays what they say: string, fret, finger, attack, onset, length and stroke of every note.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NamedTuple

from hypothesis import given
from hypothesis import strategies as st

from fretwright.engrave.walkthrough import WalkThrough, walk_through
from fretwright.fretboard.neck import Neck, Place
from fretwright.score.assemble import Event, Head, Heading, assemble, into_bars
from fretwright.score.note import Attack, Finger
from fretwright.score.score import Score
from fretwright.score.techniques import Stroke
from fretwright.score.tempo import TempoMap
from fretwright.score.values import EIGHTH, HALF, QUARTER, SIXTEENTH, TRIPLET, Value
from fretwright.theory.key import Key

NECK = Neck()
COUNTING = """
    zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen
    seventeen eighteen nineteen twenty twenty-one twenty-two twenty-three twenty-four
"""
NUMBERS = {word: value for value, word in enumerate(COUNTING.split())}
ORDINALS = {"first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6}
FINGERS = {"first finger": 1, "second finger": 2, "third finger": 3, "fourth finger": 4, "thumb": 5}
LENGTHS = {
    name: Fraction(1, 2**power)
    for power, name in enumerate(["whole", "half", "quarter", "eighth", "sixteenth", "thirty-second"])
}
DOTS = {"": Fraction(1), "dotted ": Fraction(3, 2), "double-dotted ": Fraction(7, 4)}


class Heard(NamedTuple):
    """One note as a listener would play it."""

    onset: Fraction
    string: int | None
    fret: int
    finger: int
    attack: str
    duration: Fraction
    stroke: str


def length_of(words: str) -> Fraction:
    total = Fraction(0)
    for part in re.split(r" tied to | plus ", words):
        match = re.fullmatch(r"(?:an? )?(dotted |double-dotted |)(triplet |)([a-z-]+) notes?", part)
        assert match, words
        total += DOTS[match[1]] * LENGTHS[match[3]] * (Fraction(2, 3) if match[2] else 1)
    return total


def number_of(words: str) -> int:
    return NUMBERS[words] if words in NUMBERS else int(words)


def times_of(words: str) -> int:
    return (
        {"once": 1, "twice": 2}[words]
        if words in {"once", "twice"}
        else number_of(words.split(maxsplit=1)[0])
    )


Moment = tuple[tuple[Heard, ...], Fraction]
"""What starts together, and the time until the next moment."""


@dataclass
class Listener:
    """Plays what the sentences say."""

    now: Fraction = Fraction(0)
    value: Fraction = Fraction(0)
    string: int | None = None
    strokes: str = ""
    moments: list[Moment] = field(default_factory=list)
    last_run: list[Moment] = field(default_factory=list)
    bars: dict[int, list[Moment]] = field(default_factory=dict)
    bar: int | None = None

    def listen(self, text: str) -> None:
        words = text.removesuffix(".")
        words = words[0].lower() + words[1:]
        self.string = None
        for handler in (self._time, self._strokes, self._ignore, self._bars, self._strings, self._back):
            if handler(words):
                return
        if match := re.match(r"(?:bar ([a-z0-9-]+)|(pickup) bar)[^:]*: ", words):
            self.bar = 0 if match[2] else number_of(match[1])
            self.bars[self.bar] = []
            words = words[match.end() :]
        self.last_run = []
        for phrase in words.split("; "):
            if phrase != "the sound is held":
                self._phrase(phrase)

    def _time(self, words: str) -> bool:
        match = re.match(
            r"[a-z]+ [a-z]+ time, at \S+ beats a minute(?:, with a pickup [^,]*)?(?:, (.*))?", words
        )
        if match and match[1]:
            self.value = length_of(re.sub(r" (throughout|unless .*|up to .*)$", "", match[1]))
        return bool(match)

    def _strokes(self, words: str) -> bool:
        if "stroke" in words and "string" not in words and "fret" not in words:
            self.strokes = words
            return True
        return False

    def _ignore(self, words: str) -> bool:
        return bool(re.match(r"in position|in open|then back to|tune |capo ", words))

    def _bars(self, words: str) -> bool:
        match = re.match(
            r"bars? (\S+)(?: (and|to) (\S+))?: the same as bars? (\S+?)(?: (and|to) (\S+?))?"
            r"(?:, (\S+) frets? (higher|lower))?$",
            words,
        )
        if not match:
            return False
        first, last = number_of(match[1]), number_of(match[3] or match[1])
        like = list(range(number_of(match[4]), number_of(match[6] or match[4]) + 1))
        shift = (number_of(match[7]) if match[7] else 0) * (-1 if match[8] == "lower" else 1)
        for index, bar in enumerate(range(first, last + 1)):
            model = self.bars[like[index % len(like)]]
            self.bar, self.bars[bar] = bar, []
            for notes, step in model:
                self._add([note._replace(fret=note.fret + shift) for note in notes], step)
        return True

    def _strings(self, words: str) -> bool:
        match = re.match(r"(?:bar (\S+): )?the same on the (.*) strings?$", words)
        if not match:
            return False
        model = list(self.last_run)
        for name in re.split(r", | and ", match[2]):
            for notes, step in model:
                self._add([note._replace(string=ORDINALS[name]) for note in notes], step)
        return True

    def _back(self, words: str) -> bool:
        match = re.match(
            r"then back (?:down |up |)the same way, (\S+) notes, (without |)playing the \w+ note again, "
            r"to the (\S+) string, (?:fret (\S+?)|open)(?:, the last for (.*))?$",
            words,
        )
        if not match:
            return False
        way = self.moments[::-1][1 if match[2] else 0 :][: number_of(match[1])]
        assert len(way) == number_of(match[1])
        (last,), step = way[-1]
        if match[5]:
            step = length_of(match[5])
            way[-1] = ((last._replace(duration=step),), step)
        assert (last.string, last.fret) == (ORDINALS[match[3]], number_of(match[4]) if match[4] else 0)
        for notes, step in way:
            self._add(notes, step)
        return True

    def _phrase(self, phrase: str) -> None:
        phrase = re.sub(r"^shift (up|down) to position [a-z0-9-]+, ", "", phrase)
        if match := re.match(r"now in ([a-z -]*?notes), ", phrase):
            self.value = length_of(match[1])
            phrase = re.sub(r"^shift (up|down) to position [a-z0-9-]+, ", "", phrase[match.end() :])
        if match := re.fullmatch(r"those (\S+?),? (?:again|(.*) more)", phrase):
            model = self.moments[-number_of(match[1]) :]
            for together, step in model * (times_of(match[2]) if match[2] else 1):
                self._add(together, step)
            return
        rounds = 1
        if match := re.search(r", (once|twice|\S+ times)$", phrase):
            rounds, phrase = times_of(match[1]), phrase[: match.start()]
        if match := re.fullmatch(r"rest for (.*)", phrase):
            self._add((), length_of(match[1]))
            return
        step = self.value
        if match := re.search(r"(?<!sounding), for ([a-z -]*)$", phrase):
            step, phrase = length_of(match[1]), phrase[: match.start()]
        phrase = phrase.removeprefix("together ")
        notes = [self._note(part, step) for part in re.split(r", and (?=\S+ string, )", phrase)]
        for _ in range(rounds):
            self._add(notes, step)

    def _note(self, words: str, step: Fraction) -> Heard:
        if match := re.match(r"(\S+) string, ", words):
            self.string, words = ORDINALS[match[1]], words[match.end() :]
        stroke, duration = "", step
        if match := re.search(r", (down|up) stroke$", words):
            stroke, words = match[1], words[: match.start()]
        if match := re.search(r", sounding for (.*)$", words):
            duration, words = length_of(match[1]), words[: match.start()]
        match = re.fullmatch(
            r"(?:(hammer on|pull off|slide|slide up|slide down|tap)(?: to)? )?"
            r"(?:fret ([a-z0-9-]+)|open|the open string)(?:(?:, | with the )(.*))?",
            words,
        )
        assert match, words
        attack = {"hammer on": "hammer-on", "pull off": "pull-off", "tap": "tap", None: "pluck"}.get(
            match[1], "slide"
        )
        fret = number_of(match[2]) if match[2] else 0
        return Heard(self.now, self.string, fret, FINGERS.get(match[3] or "", 0), attack, duration, stroke)

    def _add(self, notes: Sequence[Heard], step: Fraction) -> None:
        moment = (tuple(note._replace(onset=self.now) for note in notes), step)
        self.now += step
        self.moments.append(moment)
        self.last_run.append(moment)
        if self.bar is not None:
            self.bars[self.bar].append(moment)


def played_from(told: WalkThrough) -> list[Heard]:
    listener = Listener()
    for sentence in told.sentences:
        listener.listen(sentence.text)
    notes = [note for moment, _ in listener.moments for note in moment]
    if listener.strokes.startswith("alternate"):
        first = ["down", "up"] if "down" in listener.strokes.split("starting")[1] else ["up", "down"]
        picked = [note for note in notes if note.attack == "pluck"]
        order = {id(note): first[index % 2] for index, note in enumerate(picked)}
        return [note._replace(stroke=order.get(id(note), "")) for note in notes]
    if listener.strokes.startswith("down strokes on the beat"):
        return [
            note._replace(
                stroke="" if note.attack != "pluck" else "up" if note.onset % Fraction(1, 4) else "down"
            )
            for note in notes
        ]
    if listener.strokes:
        stroke = listener.strokes.split()[0]
        return [note._replace(stroke=stroke if note.attack == "pluck" else "") for note in notes]
    return notes


def written_in(score: Score) -> list[Heard]:
    return [
        Heard(
            note.onset,
            note.string,
            note.fret,
            int(note.finger or 0) if note.fret else 0,
            note.attack.value,
            note.duration,
            note.stroke.value if note.stroke else "",
        )
        for note in score.notes
    ]


# Scores that are likely to repeat themselves ----------------------------------------------------------------

BEATS = (
    (QUARTER,),
    (EIGHTH, EIGHTH),
    (SIXTEENTH,) * 4,
    (Value(Fraction(1, 8), 1), SIXTEENTH),
    (Value(Fraction(1, 8), 0, TRIPLET),) * 3,
)


@st.composite
def cells(draw: st.DrawFn) -> list[Event]:
    """A beat or two of notes on one or two strings, with slurs, rests and now and then a chord."""
    values = [value for _ in range(draw(st.integers(1, 2))) for value in draw(st.sampled_from(BEATS))]
    if draw(st.integers(0, 6)) == 0:
        values = [HALF]
    events: list[Event] = []
    string = draw(st.integers(2, 5))
    for value in values:
        if draw(st.integers(0, 9)) == 0:
            events.append(Event(value))
            continue
        string = draw(st.sampled_from((string, string, string + draw(st.sampled_from((-1, 1))))))
        string = min(6, max(1, string))
        before = events[-1].heads[-1] if events and events[-1].heads else None
        kinds = [Attack.PLUCK] * 3
        if before is not None and before.place.string == string:
            kinds += [Attack.HAMMER_ON, Attack.PULL_OFF, Attack.SLIDE]
        fret = draw(st.integers(0, 4)) * 3
        finger = None if draw(st.integers(0, 8)) == 0 else Finger(draw(st.integers(1, 4)))
        heads = [head(string, fret, finger if fret else None, draw(st.sampled_from(kinds)))]
        if draw(st.integers(0, 11)) == 0 and string > 1:
            heads.append(head(string - 1, 3, Finger.MIDDLE))
        events.append(Event(value, tuple(heads)))
    return events


def head(string: int, fret: int, finger: Finger | None, attack: Attack = Attack.PLUCK) -> Head:
    place = Place(string, fret)
    return Head(place, NECK.pitch_at(place), attack, finger)


def on_string(cell: list[Event], by: int) -> list[Event]:
    """The cell moved over by so many strings, where it has room."""
    strings = [h.place.string for event in cell for h in event.heads]
    if not strings or min(strings) + by < 1 or max(strings) + by > 6:
        return cell
    return [
        Event(
            event.value,
            tuple(head(h.place.string + by, h.place.fret, h.finger, h.attack) for h in event.heads),
        )
        for event in cell
    ]


@st.composite
def scores(draw: st.DrawFn) -> Score:
    """Scores put together of a few cells that come again, elsewhere and backwards."""
    stock = draw(st.lists(cells(), min_size=1, max_size=3))
    events: list[Event] = []
    for _ in range(draw(st.integers(1, 6))):
        cell = draw(st.sampled_from(stock))
        events += on_string(cell, draw(st.sampled_from((0, 0, -1, 1))))
    plain = [h.attack is Attack.PLUCK for event in events for h in event.heads]
    if all(plain) and draw(st.booleans()):
        events += events[::-1][draw(st.integers(0, 1)) :]
    strokes = draw(st.sampled_from(("none", "down", "alternate", "free")))
    picked = [stroked(event, index, strokes, draw) for index, event in enumerate(events)]
    bars = into_bars(binary_only(picked))
    repeat = draw(st.booleans())
    bars = (*bars[:-1], replace(bars[-1], closes_repeat=2 if repeat else 0))
    return assemble(Heading("x", "X", NECK, Key(0), TempoMap.constant(60)), bars)


def binary_only(events: list[Event]) -> list[Event]:
    """Triplets that are not three on one beat become plain notes: they could not be cut at a bar line."""
    at, result = Fraction(0), list[Event]()
    for index, event in enumerate(events):
        three = [other.value.tuplet for other in events[index : index + 3]] == [TRIPLET] * 3
        inside = at % Fraction(1, 12) == 0 and at % Fraction(1, 4) != 0 and bool(result[-1].value.tuplet)
        keeps = event.value.tuplet is None or inside or (three and at % Fraction(1, 4) == 0)
        result.append(event if keeps else replace(event, value=EIGHTH))
        at += result[-1].value.duration
    return result


def stroked(event: Event, index: int, strokes: str, draw: st.DrawFn) -> Event:
    choices: dict[str, list[Stroke | None]] = {
        "none": [None],
        "down": [Stroke.DOWN],
        "free": [Stroke.DOWN, Stroke.UP],
    }
    choices["alternate"] = [(Stroke.DOWN, Stroke.UP)[index % 2]]
    stroke = draw(st.sampled_from(choices[strokes]))
    return Event(
        event.value,
        tuple(replace(h, stroke=None if h.attack.is_slur else stroke) for h in event.heads),
    )


@given(scores())
def test_the_words_alone_give_back_every_note(score: Score) -> None:
    assert played_from(walk_through(score)) == written_in(score)


@given(scores())
def test_every_note_belongs_to_exactly_one_sentence_in_order(score: Score) -> None:
    told = [note_id for sentence in walk_through(score).sentences for note_id in sentence.note_ids]
    assert told == [note.id for note in score.notes]


@given(scores())
def test_each_sentence_names_the_bar_it_starts_in(score: Score) -> None:
    for sentence in walk_through(score).sentences:
        if sentence.note_ids:
            assert sentence.bar == score.bar_at(score.note(sentence.note_ids[0]).onset).number


@given(scores())
def test_a_score_is_always_told_in_the_same_words(score: Score) -> None:
    assert walk_through(score) == walk_through(score)
