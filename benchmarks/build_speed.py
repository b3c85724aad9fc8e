"""How long a build of the demo course takes: from nothing, after one word changed, and with nothing changed.

Whole processes are timed as a teacher starts them. The named reference is the start of the same Python
with the libraries of the command line (click and rich), which no build can be quicker than.
"""

import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

DEMO = Path(__file__).parents[1] / "demo"
RUNS = 5


def seconds(*command: str) -> float:
    """Wall time of one run of a command."""
    started = time.perf_counter()
    subprocess.run([sys.executable, *command], check=True, capture_output=True)
    return time.perf_counter() - started


def main() -> None:
    """Print times and their ratios to the reference."""
    with tempfile.TemporaryDirectory() as folder:
        course, out = Path(folder) / "course", Path(folder) / "out"
        shutil.copytree(DEMO, course)
        build = ("-m", "fretwright", "build", str(course), "--out", str(out))
        reference = min(seconds("-c", "import click, rich.console, rich.progress") for _ in range(RUNS))
        cold = seconds(*build)
        unchanged = min(seconds(*build) for _ in range(RUNS))
        lesson = course / "lessons" / "04-hammer-ons.md"
        lesson.write_text(
            lesson.read_text(encoding="utf-8").replace("One pluck", "One stroke"), encoding="utf-8"
        )
        one_word = seconds(*build)
    print(f"reference: python with click and rich   {reference:7.3f} s")
    for name, value in (
        ("nothing changed", unchanged),
        ("one word changed", one_word),
        ("from nothing", cold),
    ):
        print(f"demo course, {name:18}         {value:7.3f} s   {value / reference:8.1f} x reference")


if __name__ == "__main__":
    main()
