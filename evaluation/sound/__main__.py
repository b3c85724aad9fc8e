"""``python -m evaluation.sound``: measure the sound; print the figures and write them down.

All tables go to figures.md, the summary also to ``evaluation/README.md``.
"""

import sys
from pathlib import Path

from evaluation.reporting import BAR_HEADING, into_readme, table, yes
from evaluation.sound.answer import Answer
from evaluation.sound.examine import QUESTIONS
from evaluation.sound.recorded import require

_FIGURES = Path(__file__).with_name("figures.md")
_HEAD = """# The sound, measured

Made by `python -m evaluation.sound`; what each measure means is in `evaluation/README.md`.
"""


def _chapter(answer: Answer) -> str:
    verdict = "reached" if answer.reached else "NOT reached"
    return f"## {answer.title}\n\nAsked: {answer.bar}.\nFound: {answer.summary} ({verdict}).\n\n" + table(
        answer.heading, answer.rows
    )


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
    summary = tuple((a.title, a.bar, a.summary, yes(reached=a.reached)) for a in answers)
    chapters.insert(1, table(BAR_HEADING, summary))
    into_readme("sound", chapters[1])
    _FIGURES.write_text("\n\n".join(chapter.strip() for chapter in chapters) + "\n", encoding="utf-8")
    return 0 if all(answer.reached for answer in answers) else 1


if __name__ == "__main__":
    sys.exit(main())
