"""The walk-through as captions, each sentence while what it tells is played.

Enters: the sentences with the notes they tell, and the clock. Leaves: cues, as WebVTT (W3C) or as the soft
subtitles of an MP4. What is said of the whole exercise stands before the music; a repeat is told again.
A cue has at most two lines of 42 characters (common practice of broadcasters, no source).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from fretwright.engrave.walkthrough import Sentence
from fretwright.film.clock import Clock

_LINE: Final = 42
_FULL: Final = 2 * _LINE
_LEAST_S: Final = 0.04
"""A shorter stretch than one picture shows nothing."""


@dataclass(frozen=True, slots=True)
class Cue:
    """One caption."""

    start_s: float
    end_s: float
    text: str
    """One or two lines."""


def captions(sentences: Sequence[Sentence], clock: Clock) -> tuple[Cue, ...]:
    """The cues of a film in order of time; none overlaps another."""
    opening, _ = _told(sentences)
    before = _spread(opening, 0.0, clock.music_starts_s) if opening else ()
    return (*before, *captions_played(sentences, clock))


def descriptions(sentences: Sequence[Sentence], clock: Clock) -> tuple[Cue, ...]:
    """The same words for a voice: every sentence whole, from when it is due until the next."""
    opening, told = _told(sentences)
    where = {note: index for index, (_, notes) in enumerate(told) for note in notes}
    heard = [(note.onset_s, where[note.note_id]) for note in clock.notes if note.note_id in where]
    runs = [(next(group)[0], told[index][0]) for index, group in groupby(heard, key=lambda pair: pair[1])]
    due = ([(0.0, opening)] if opening else []) + runs
    ends = [start_s for start_s, _ in due[1:]] + [clock.music_ends_s]
    return tuple(Cue(start_s, end_s, words) for (start_s, words), end_s in zip(due, ends, strict=True))


def captions_played(sentences: Sequence[Sentence], clock: Clock) -> tuple[Cue, ...]:
    """The cues of the music alone: what is said of the whole is left out."""
    _, told = _told(sentences)
    cues: list[Cue] = []
    where = {note: index for index, (_, notes) in enumerate(told) for note in notes}
    heard = [(note.onset_s, where[note.note_id]) for note in clock.notes if note.note_id in where]
    runs = [(next(group)[0], index) for index, group in groupby(heard, key=lambda pair: pair[1])]
    ends = [start_s for start_s, _ in runs[1:]] + [clock.music_ends_s]
    for (start_s, index), end_s in zip(runs, ends, strict=True):
        cues += _spread(told[index][0], start_s, end_s)
    return tuple(cues)


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
    pieces = _pieces(text)
    total = sum(map(len, pieces))
    if end_s - start_s < _LEAST_S:
        return
    done = 0
    for piece in pieces:
        begin_s = start_s + (end_s - start_s) * done / total
        done += len(piece)
        yield Cue(begin_s, start_s + (end_s - start_s) * done / total, _two_lines(piece))


def _pieces(text: str) -> list[str]:
    """A text cut between words into as few captions as it fills, of about the same length."""
    count = max(1, -(-len(text) // _FULL))
    while True:
        pieces = _cut(text, count)
        if all(len(_lines(piece)) <= 2 for piece in pieces) or count > len(text):
            return pieces
        count += 1


def _cut(text: str, count: int) -> list[str]:
    """A text in at most ``count`` pieces, cut as evenly as words allow and rather after a stop or comma."""
    if count == 1:
        return [text]
    aim = len(text) / count
    spaces = [place for place, character in enumerate(text) if character == " "]
    if not spaces:
        return [text]

    def unfit(place: int) -> float:
        stop = {".": 0.4, ";": 0.35, ":": 0.3, ",": 0.25}.get(text[place - 1], 0.0)
        return abs(place - aim) / aim - stop

    cut = min(spaces, key=unfit)
    return [text[:cut], *_cut(text[cut + 1 :], count - 1)]


def _lines(text: str) -> list[str]:
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if len(longer) <= _LINE or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _two_lines(text: str) -> str:
    """Broken in two where it does not fit on one line, as evenly as words allow."""
    if len(text) <= _LINE:
        return text
    spaces = [place for place, character in enumerate(text) if character == " "]
    fitting = [place for place in spaces if place <= _LINE and len(text) - place - 1 <= _LINE]
    cut = min(fitting or spaces or [len(text)], key=lambda place: abs(place - len(text) / 2))
    return f"{text[:cut]}\n{text[cut + 1 :]}"


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
