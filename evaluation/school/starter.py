"""Servers that start at once: a process imports the program and makes each server by forking itself.

A school that is killed hundreds of times would otherwise spend nearly all of its life importing. What is
forked has read nothing and opened nothing: from there on it is ``fretwright serve`` as anybody starts it.
"""

import importlib
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Final, cast

_BEGIN: Final = "begin"


@dataclass(slots=True)
class Starter:
    """The process that forks."""

    process: subprocess.Popen[str]
    server: int | None = None
    """The number of the server that runs, as far as is known."""

    @classmethod
    def of(cls, course: Path, environment: dict[str, str], log: Path) -> "Starter":
        """Import the program in a process of its own, for servers of one course."""
        with log.open("ab") as written:
            process = subprocess.Popen(
                [sys.executable, "-m", "evaluation.school.starter", str(course)],
                env={**environment, "PYTHONPATH": os.pathsep.join(entry for entry in sys.path if entry)},
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=written,
                text=True,
            )
        return cls(process)

    def start(self) -> int:
        """Fork a server; its number."""
        into, back = cast("IO[str]", self.process.stdin), cast("IO[str]", self.process.stdout)
        into.write(_BEGIN + "\n")
        into.flush()
        self.server = int(back.readline())
        return self.server

    def wait(self) -> None:
        """Wait until the server has ended."""
        if self.server is not None:
            cast("IO[str]", self.process.stdout).readline()
            self.server = None

    def close(self) -> None:
        """End it."""
        self.process.terminate()
        self.process.wait()
        for stream in (self.process.stdin, self.process.stdout):
            if stream is not None:
                stream.close()


def main() -> None:
    """Fork a server for each line that comes, say its number, and say so again once it has ended."""
    # not above: judges import this module too, as the main one of whoever started them
    importlib.import_module("fretwright.web.app")
    command = importlib.import_module("fretwright.cli.main")

    while sys.stdin.readline():
        child = os.fork()  # noqa: TID251 - forking is what it is for; one thread runs
        if child == 0:
            null = os.open(os.devnull, os.O_RDWR)
            os.dup2(null, 0)
            os.dup2(2, 1)
            sys.argv = ["fretwright", "serve", sys.argv[1]]
            command.main()
            os._exit(0)
        print(child, flush=True)
        os.waitpid(child, 0)
        print(child, flush=True)


if __name__ == "__main__":
    main()
