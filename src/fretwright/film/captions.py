"""The walk-through as captions, each sentence while what it tells is played.

Enters: the sentences with the notes they tell, the score and the clock. Leaves: cues, as WebVTT (W3C) or as
the soft subtitles of an MP4. What is said of the whole exercise stands before the music; a repeat is told
again. Where the music is quicker than its sentences can be read, they are put briefly
(:mod:`~fretwright.film.captions_brief`): no cue asks for more than 20 characters a second.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from fretwright.engrave.walkthrough import Sentence
from fretwright.engrave.walkthrough_held import is_held
from fretwright.film.captions_brief import brief
from fretwright.film.captions_text import is_readable, pieces, two_lines
from fretwright.film.clock import Clock
from fretwright.score.score import Score

_LEAST_S: Final = 0.04
"""A shorter stretch than one picture shows nothing."""


@dataclass(frozen=True, slots=True)
class Cue:
    """One caption."""

    start_s: float
    end_s: float
    text: str
    """One or two lines."""


def captions(score: Score, sentences: Sequence[Sentence], clock: Clock) -> tuple[Cue, ...]:
    """The cues of a film in order of time; none overlaps another, and every one can be read in its time."""
    opening = _readable_opening(sentences, clock.music_starts_s)
    before = _spread(opening, 0.0, clock.music_starts_s) if opening else ()
    return (*before, *captions_played(score, sentences, clock))


def _readable_opening(sentences: Sequence[Sentence], length_s: float) -> str:
    """What is said of the whole, as many of its sentences as can be read before the music starts."""
    kept = ""
    for sentence in sentences:
        longer = f"{kept} {sentence.text}".strip()
        if sentence.note_ids:
            break
        if is_readable(longer, 0.0, length_s):
            kept = longer
    return kept


def descriptions(sentences: Sequence[Sentence], clock: Clock) -> tuple[Cue, ...]:
    """The same words for a voice: every sentence whole, from when it is due until the next."""
    opening, told = _told(sentences)
    where = {note: index for index, (_, notes) in enumerate(told) for note in notes}
    heard = [(note.onset_s, where[note.note_id]) for note in clock.notes if note.note_id in where]
    runs = [(next(group)[0], told[index][0]) for index, group in groupby(heard, key=lambda pair: pair[1])]
    due = ([(0.0, opening)] if opening else []) + runs
    ends = [start_s for start_s, _ in due[1:]] + [clock.music_ends_s]
    return tuple(Cue(start_s, end_s, words) for (start_s, words), end_s in zip(due, ends, strict=False))


def captions_played(score: Score, sentences: Sequence[Sentence], clock: Clock) -> tuple[Cue, ...]:
    """The cues of the music alone: what is said of the whole is left out."""
    whole = tuple(_sentence_by_sentence(sentences, clock))
    # over held chords the sentences lean on the patterns that the opening has described
    if whole and not is_held(score) and all(is_readable(cue.text, cue.start_s, cue.end_s) for cue in whole):
        return whole
    return tuple(Cue(each.start_s, each.end_s, two_lines(each.text)) for each in brief(score, clock))


def _sentence_by_sentence(sentences: Sequence[Sentence], clock: Clock) -> Iterator[Cue]:
    _, told = _told(sentences)
    where = {note: index for index, (_, notes) in enumerate(told) for note in notes}
    heard = [(note.onset_s, where[note.note_id]) for note in clock.notes if note.note_id in where]
    runs = [(next(group)[0], index) for index, group in groupby(heard, key=lambda pair: pair[1])]
    ends = [start_s for start_s, _ in runs[1:]] + [clock.music_ends_s]
    # a chart has no notes, and so no run of them
    for (start_s, index), end_s in zip(runs, ends, strict=False):
        yield from _spread(told[index][0], start_s, end_s)


def _told(sentences: Sequence[Sentence]) -> tuple[str, list[tuple[str, tuple[str, ...]]]]:
    """What is said of the whole, and each sentence with its notes, or with those of the one before."""
    opening: list[str] = []
    told: list[tuple[str, tuple[str, ...]]] = []
    for sentence in sentences:
        if sentence.note_ids:
            told.append((sentence.text, sentence.note_ids))
        elif told:
            told[-1] = (f"{told[-1][0]} {sentence.text}", told[-1][1])
        else:
            opening.append(sentence.text)
    return " ".join(opening), told


def _spread(text: str, start_s: float, end_s: float) -> Iterator[Cue]:
    """A text as one cue, or as several that share its time by their length."""
    some = pieces(text)
    total = sum(map(len, some))
    if end_s - start_s < _LEAST_S:
        return
    done = 0
    for piece in some:
        begin_s = start_s + (end_s - start_s) * done / total
        done += len(piece)
        yield Cue(begin_s, start_s + (end_s - start_s) * done / total, two_lines(piece))


def web_vtt(cues: Sequence[Cue]) -> str:
    """The cues as a WebVTT file."""
    blocks = [f"{_stamp(cue.start_s)} --> {_stamp(cue.end_s)}\n{_escaped(cue.text)}\n" for cue in cues]
    return "\n".join(["WEBVTT\n", *blocks])


def _stamp(time_s: float) -> str:
    milliseconds = round(time_s * 1000)
    minutes, rest = divmod(milliseconds, 60_000)
    return f"{minutes // 60:02}:{minutes % 60:02}:{rest // 1000:02}.{rest % 1000:03}"


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
