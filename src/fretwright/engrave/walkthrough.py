"""The walk-through: an exercise in spoken words.

A score enters; sentences leave that a teacher could say, a caption can show and a screen reader can
read. Nothing that the plate shows of the notes is lost: string, fret, finger, attack, length, stroke,
rests, repeats and shifts of position can all be told from the words alone, and every note belongs to
exactly one sentence, in order.

What does not change stays unsaid, as a teacher leaves it unsaid: the string while it is the same, the
note value while it is the same, and whole stretches that come again (on other strings, backwards, or
bar for bar). An exercise from held chords is told as a teacher tells it: the chords, the pattern of the
picking hand, and the chords of each bar. The words are English.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from fretwright.engrave.walkthrough_bars import fold_bars
from fretwright.engrave.walkthrough_chords import chords_introduction, chords_summary, tell_chords
from fretwright.engrave.walkthrough_folds import Passage, fold_line
from fretwright.engrave.walkthrough_held import is_held
from fretwright.engrave.walkthrough_intro import introduction, summary
from fretwright.engrave.walkthrough_moments import Moment, moments_of, stroke_rule
from fretwright.engrave.walkthrough_runs import SameOnStrings
from fretwright.engrave.walkthrough_sameness import Sameness
from fretwright.engrave.walkthrough_sung import sung_words
from fretwright.engrave.walkthrough_techniques import said_once
from fretwright.engrave.walkthrough_teller import Sentence, Teller
from fretwright.engrave.walkthrough_words import sentence
from fretwright.score.score import Score

__all__ = ["Sentence", "WalkThrough", "walk_through"]


@dataclass(frozen=True, slots=True)
class WalkThrough:
    """An exercise in spoken words."""

    title: str
    summary: str
    """One sentence on the whole exercise, short enough for a picture's description."""
    sentences: tuple[Sentence, ...]

    @property
    def text(self) -> str:
        """All sentences as one paragraph."""
        return " ".join(sentence.text for sentence in self.sentences)


def walk_through(score: Score) -> WalkThrough:
    """Put a score into words. The shorter of two tellings is kept: as one line, or bar by bar."""
    if is_held(score):
        return _told_by_chords(score)
    score, common = said_once(score)
    moments = moments_of(score)
    rule = stroke_rule(score)
    sameness = Sameness(moments, strokes=rule is None)
    steps = [moment.step for moment in moments if moment.notes]
    main = Counter(steps).most_common(1)[0][0] if steps else ()
    opening = (
        *introduction(score, steps, main, rule or ""),
        *(sentence(words) for words in common),
        *(sentence(words) for words in sung_words(score.labels)),
    )
    told = _told_by_bars(score, moments, Teller(main, sameness))
    if _is_one_line(score, moments):
        line = _told_as_line(score, moments, Teller(main, sameness))
        told = min(line, told, key=lambda sentences: sum(len(each.text.split()) for each in sentences))
    first_bar = score.bars[0].number
    sentences = (*(Sentence(text, (), first_bar) for text in opening), *told)
    return WalkThrough(score.title, summary(score, steps, main), sentences)


def _told_by_chords(score: Score) -> WalkThrough:
    opening = [Sentence(text, (), score.bars[0].number) for text in chords_introduction(score)]
    told = tell_chords(score, Teller((), Sameness((), strokes=True)))
    return WalkThrough(score.title, chords_summary(score), (*opening, *told))


def _is_one_line(score: Score, moments: Sequence[Moment]) -> bool:
    """Whether bar lines can stay unsaid: single notes of one length but for the last, and no inner signs."""
    first, last = score.bars[0], score.bars[-1]
    unmarked = all(
        not bar.endings
        and not (bar.opens_repeat and bar is not first)
        and not (bar.closes_repeat and bar is not last)
        and bar.meter == first.meter
        for bar in score.bars
    )
    notes = [moment for moment in moments if moment.notes]
    silent_inside = any(not moment.notes for moment in moments[: len(notes)])
    even = len({moment.step for moment in notes[:-1]}) <= 1
    single = all(moment.string is not None for moment in notes)
    signs = any(moment.signs for moment in moments[1:])
    return bool(notes) and unmarked and even and single and not silent_inside and not signs


def _told_as_line(score: Score, moments: Sequence[Moment], teller: Teller) -> list[Sentence]:
    _tell(fold_line(moments, teller.sameness), teller)
    teller.go_back(score.bars[-1], score.bars)
    return teller.sentences


def _told_by_bars(score: Score, moments: Sequence[Moment], teller: Teller) -> list[Sentence]:
    meter = score.bars[0].meter
    for told in fold_bars(moments, score.bars, teller.sameness):
        if not told.repeats_others:
            teller.name_bar(told.bars[0], meter)
        _tell(told.passages, teller)
        teller.go_back(told.bars[-1], score.bars)
        meter = told.bars[-1].meter
    return teller.sentences


def _tell(passages: Sequence[Passage], teller: Teller) -> None:
    for index, passage in enumerate(passages):
        teller.tell(passage, is_model=isinstance(next(iter(passages[index + 1 :]), None), SameOnStrings))
    teller.close()
