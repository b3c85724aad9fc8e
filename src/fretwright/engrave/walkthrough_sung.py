"""What is sung, in words."""

from collections.abc import Iterator, Sequence

from fretwright.engrave.walkthrough_words import ordinal
from fretwright.score.score import Label, LabelKind


def sung_words(labels: Sequence[Label]) -> Iterator[str]:
    """What is sung at some labels, syllables joined, verse by verse; each but the first named."""
    sung = [label for label in labels if label.kind is LabelKind.LYRIC]
    for verse in sorted({label.verse for label in sung}):
        text = " ".join(label.text.rstrip("_") for label in sung if label.verse == verse).replace("- ", "")
        yield f"sung, “{text}”" if verse == 1 else f"{ordinal(verse)} verse, “{text}”"
