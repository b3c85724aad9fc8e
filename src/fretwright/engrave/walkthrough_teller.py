"""From passages to sentences: what has to be said, and what may stay unsaid because it still holds."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from fretwright.engrave.walkthrough_back import Back
from fretwright.engrave.walkthrough_bars import SameBars
from fretwright.engrave.walkthrough_folds import Passage
from fretwright.engrave.walkthrough_moments import Moment
from fretwright.engrave.walkthrough_runs import Run, SameOnStrings, fold_rounds
from fretwright.engrave.walkthrough_sameness import Sameness
from fretwright.engrave.walkthrough_techniques import lead_words, roll_words, technique_words, together_words
from fretwright.engrave.walkthrough_words import (
    counted,
    fret_words,
    listed,
    meter_words,
    note_words,
    number,
    ordinal,
    rest_words,
    sentence,
    string_words,
    times,
    value_words,
    values_words,
)
from fretwright.score.meter import Meter
from fretwright.score.note import Attack, Note
from fretwright.score.score import Bar
from fretwright.score.values import Value

_MOST_NOTES = 8
"""A longer run on one string is told in several sentences, so that a caption holds each."""
_FEWEST_NOTES = 2
"""A single note on its string shares a sentence with what follows."""


@dataclass(frozen=True, slots=True)
class Sentence:
    """One spoken sentence."""

    text: str
    note_ids: tuple[str, ...]
    """Notes that it tells, by onset and then from the lowest string up; empty where it tells none."""
    bar: int
    """Printed number of the bar in which it starts."""


@dataclass(slots=True)
class Teller:
    """Tells passages in order; its ``sentences`` grow."""

    value: tuple[Value, ...]
    """The length that a note has where no other is said."""
    sameness: Sameness
    sentences: list[Sentence] = field(default_factory=list)
    _phrases: list[str] = field(default_factory=list)
    _notes: list[Note] = field(default_factory=list)
    _string: int | None = None
    _bar: int = 0
    _opening: str = ""

    def name_bar(self, bar: Bar, meter_before: Meter) -> None:
        """Start a bar by its number and what is new in it."""
        self.close()
        words = "pickup bar" if bar.number == 0 else f"bar {number(bar.number)}"
        if bar.endings:
            words += f", {listed([ordinal(ending) for ending in bar.endings])} ending"
        if bar.opens_repeat:
            words += ", where a repeat begins"
        if bar.meter != meter_before:
            words += f", now {meter_words(bar.meter)}"
        self._opening, self._bar = f"{words}: ", bar.number

    def tell(self, passage: Passage, *, is_model: bool) -> None:
        """Tell a passage. One that the next passage refers to has its sentence to itself."""
        if isinstance(passage, Run):
            if is_model or len(self._notes) >= _FEWEST_NOTES:
                self.close()
            self._tell_run(passage.moments, whole=is_model)
            return
        self.close()
        tellers = {SameOnStrings: self._same_on_strings, Back: self._back, SameBars: self._same_bars}
        words = tellers[type(passage)](passage)  # type: ignore[operator]  # each teller is kept under the type it tells
        self._say(words, passage.moments)

    def say(self, words: str, notes: Sequence[Note], bar: Bar) -> None:
        """Tell notes in words of the caller's own, behind what was said of their bar."""
        ids = tuple(note.id for note in notes)
        self.sentences.append(Sentence(sentence(self._opening + words), ids, bar.number))
        self._opening = ""

    def go_back(self, bar: Bar, bars: Sequence[Bar]) -> None:
        """Say that a repeat ends with this bar, where one does."""
        if not bar.closes_repeat:
            return
        until = bars.index(bar)
        opening = next((b for b in bars[until::-1] if b.opens_repeat), None)
        start = opening or next(b for b in bars if b.number > 0)
        target = "the beginning" if start is bars[0] else f"bar {number(start.number)}"
        words = f"Then back to {target}: all of this is played {times(bar.closes_repeat)}."
        self.sentences.append(Sentence(words, (), bar.number))

    def close(self) -> None:
        """End the sentence that is being told."""
        if self._phrases or self._opening:
            text = self._opening + ("; ".join(self._phrases) or "the sound is held")
            ids = tuple(note.id for note in self._notes)
            self.sentences.append(Sentence(sentence(text), ids, self._bar))
        self._phrases, self._notes, self._string, self._opening = [], [], None, ""

    def _say(self, words: str, moments: Iterable[Moment]) -> None:
        """A sentence that refers to what was said before."""
        told = tuple(moments)
        ids = tuple(note.id for moment in told for note in moment.notes)
        self.sentences.append(Sentence(sentence(self._opening + words), ids, told[0].bar.number))
        self._opening = ""

    def _tell_run(self, moments: Sequence[Moment], *, whole: bool) -> None:
        index = 0
        for model, rounds in fold_rounds(moments, self.sameness):
            count = len(model) * rounds
            opens = model[0].notes and not _is_slurred(model[0])
            if len(self._notes) + len(model) > _MOST_NOTES and opens and not whole:
                self.close()
            for place, moment in enumerate(model):
                self._tell_moment(moment, moments[index + place + 1 :])
            if rounds > 1:
                self._again(len(model), rounds)
            self._notes.extend(note for moment in moments[index : index + count] for note in moment.notes)
            index += count

    def _tell_moment(self, moment: Moment, following: Sequence[Moment]) -> None:
        if not self._phrases and not self._opening:
            self._bar = moment.bar.number
        self._phrases.append(", ".join(self._phrase(moment, following)))

    def _again(self, size: int, rounds: int) -> None:
        """Say that what was just told is played again."""
        if size == 1:
            self._phrases[-1] += f", {times(rounds)}"
        else:
            more = " again" if rounds == 2 else f", {times(rounds - 1)} more"
            self._phrases.append(f"those {number(size)}{more}")

    def _phrase(self, moment: Moment, following: Sequence[Moment]) -> list[str]:
        """The parts of what is said for one moment."""
        words = list(moment.signs)
        if not moment.notes:
            return [*words, rest_words(moment.step)]
        length = ""
        if moment.step != self.value:
            if any(later.notes and later.step == moment.step for later in following[:1]):
                words.append(f"now in {values_words(moment.step)}")
                self.value = moment.step
            else:
                length = f"for {value_words(moment.step)}"
        if moment.shift:
            words.append(moment.shift)
        together = len(moment.notes) > 1
        notes = [
            self._note(moment, note, leaves, name_string=together)
            for note, leaves in zip(moment.notes, moment.leaves, strict=True)
        ]
        words.append(f"{together_words(moment.notes)} {', and '.join(notes)}" if together else notes[0])
        self._string = moment.string
        return [*words, length] if length else words

    def _note(self, moment: Moment, note: Note, leaves: int | None, *, name_string: bool) -> str:
        words = lead_words(note) + note_words(note, leaves) + technique_words(note)
        words += roll_words(note, moment.notes)
        if name_string or note.string != self._string:
            words = f"{string_words(note.string)}, {words}"
        if moment.rings_on(note):
            words += f", sounding for {value_words(note.values)}"
        if self.sameness.strokes and note.stroke:
            words += f", {note.stroke.value} stroke"
        return words

    def _same_on_strings(self, passage: SameOnStrings) -> str:
        names = listed([ordinal(string) for string in passage.strings])
        return f"the same on the {names} {'string' if len(passage.strings) == 1 else 'strings'}"

    def _back(self, passage: Back) -> str:
        last = passage.moments[-1].notes[0]
        way = {True: "down ", False: "up ", None: ""}[passage.falls]
        turn = {True: "top", False: "lowest", None: "last"}[passage.falls]
        again = f"{'' if passage.turns_on else 'without '}playing the {turn} note again"
        goal = f"{string_words(last.string)}, {fret_words(last.fret)}"
        length = f", the last for {value_words(passage.moments[-1].step)}" if passage.longer_last else ""
        notes = counted(len(passage.moments), "note")
        return f"then back {way}the same way, {notes}, {again}, to the {goal}{length}"

    def _same_bars(self, passage: SameBars) -> str:
        like = f"the same as {_bars_words(passage.like)}"
        if passage.frets_up:
            higher = "higher" if passage.frets_up > 0 else "lower"
            like += f", {counted(abs(passage.frets_up), 'fret')} {higher}"
        return f"{_bars_words(passage.bars)}: {like}"


def _is_slurred(moment: Moment) -> bool:
    return any(note.attack.is_slur or note.attack is Attack.TAP for note in moment.notes)


def _bars_words(bars: Sequence[Bar]) -> str:
    numbers = [bar.number for bar in bars]
    if len(numbers) == 1:
        return f"bar {number(numbers[0])}"
    if len(numbers) == 2:
        return f"bars {number(numbers[0])} and {number(numbers[1])}"
    return f"bars {number(numbers[0])} to {number(numbers[-1])}"
