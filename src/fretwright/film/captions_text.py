"""What a viewer can read of a caption: how much of it, how quickly, and how it is broken into lines."""

from typing import Final

READABLE: Final = 20.0
"""Characters a second that most viewers can follow (common practice of subtitlers, no source)."""
LEAST_S: Final = 1.0
"""Whatever stands for less is a flicker (common practice of subtitlers, no source)."""
LINE: Final = 42
FULL: Final = 2 * LINE
"""A caption has at most two lines of 42 characters (common practice of broadcasters, no source)."""
_STOP_WORTH: Final = 10
"""Characters by which the first line may be longer or shorter to end with a stop."""


def is_readable(text: str, start_s: float, end_s: float) -> bool:
    """Whether a text can be read while it stands."""
    return end_s - start_s >= LEAST_S and len(text) <= READABLE * (end_s - start_s)


def pieces(text: str) -> list[str]:
    """A text cut between words into as few captions as it fills, of about the same length."""
    count = max(1, -(-len(text) // FULL))
    while True:
        cut = _cut(text, count)
        if all(len(lines(piece)) <= 2 for piece in cut) or count > len(text):
            return cut
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


def lines(text: str) -> list[str]:
    """A text in as many lines as it fills."""
    out = [""]
    for word in text.split():
        longer = f"{out[-1]} {word}".strip()
        if len(longer) <= LINE or not out[-1]:
            out[-1] = longer
        else:
            out.append(word)
    return out


def two_lines(text: str) -> str:
    """Broken in two where it does not fit on one line, as evenly as words allow and rather after a stop."""
    if len(text) <= LINE:
        return text
    spaces = [place for place, character in enumerate(text) if character == " "]
    fitting = [place for place in spaces if place <= LINE and len(text) - place - 1 <= LINE]

    def unfit(place: int) -> float:
        return abs(place - len(text) / 2) - (_STOP_WORTH if text[place - 1] in ".;:," else 0)

    cut = min(fitting or spaces or [len(text)], key=unfit)
    return f"{text[:cut]}\n{text[cut + 1 :]}"
