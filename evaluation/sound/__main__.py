"""``python -m evaluation.sound``: measure the sound; print the figures and write them down.

All tables go to figures.md, the summary also to ``evaluation/README.md``.
"""

import sys
from pathlib import Path

from evaluation.sound.answer import Answer
from evaluation.sound.examine import QUESTIONS
from evaluation.sound.recorded import require

_FIGURES = Path(__file__).with_name("figures.md")
_README = _FIGURES.parents[1] / "README.md"
_MARKS = ("<!-- sound figures -->", "<!-- end of sound figures -->")
_HEAD = """# The sound, measured

Made by `python -m evaluation.sound`; what each measure means is in `evaluation/README.md`.
"""


def _table(heading: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> str:
    lines = [heading, ("---",) * len(heading), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines)


def _chapter(answer: Answer) -> str:
    verdict = "reached" if answer.reached else "NOT reached"
    return f"## {answer.title}\n\nAsked: {answer.bar}.\nFound: {answer.summary} ({verdict}).\n\n" + _table(
        answer.heading, answer.rows
    )


def _into_readme(table: str) -> None:
    """Put the summary between its two marks in the README."""
    text = _README.read_text(encoding="utf-8")
    before, rest = text.split(_MARKS[0])
    after = rest.split(_MARKS[1])[1]
    text = f"{before}{_MARKS[0]}\n\n{table}\n\n{_MARKS[1]}{after}"
    _README.write_text(text, encoding="utf-8")


def main() -> int:
    """Run every question; the exit code says whether all bars were reached."""
    require()
    answers = []
    chapters = [_HEAD]
    for question in QUESTIONS:
        answer = question()
        answers.append(answer)
        chapters.append(_chapter(answer))
        print(chapters[-1], end="\n\n", flush=True)
    summary = tuple((a.title, a.bar, a.summary, "yes" if a.reached else "no") for a in answers)
    chapters.insert(1, _table(("question", "asked", "found", "reached"), summary))
    _into_readme(chapters[1])
    _FIGURES.write_text("\n\n".join(chapter.strip() for chapter in chapters) + "\n", encoding="utf-8")
    return 0 if all(answer.reached for answer in answers) else 1


if __name__ == "__main__":
    sys.exit(main())
