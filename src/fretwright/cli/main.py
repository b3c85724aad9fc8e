"""The ``fretwright`` command and its list of sub-commands."""

import importlib
import sys
from typing import Final

import click

from fretwright import __version__
from fretwright.base.errors import FretwrightError

_COMMANDS: Final = (
    "new",
    "check",
    "inspect",
    "build",
    "hear",
    "film",
    "shape",
    "chord",
    "band",
    "export",
    "adopt",
    "serve",
    "backup",
    "restore",
)


class _LazyGroup(click.Group):
    """A group that imports a command's module only when that command is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's signature
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - likewise
        if cmd_name not in _COMMANDS:
            return None
        module = importlib.import_module(f"fretwright.cli.{cmd_name}")
        command: click.Command = module.command
        return command


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="fretwright", message="%(prog)s %(version)s")
def group() -> None:
    """From one plain-text course folder to everything a guitar student sees, hears and prints."""


def main() -> None:
    """Run the command line; an error on purpose is one sentence on standard error and exit code 2."""
    try:
        group(prog_name="fretwright")
    except FretwrightError as error:
        click.echo(f"fretwright: {error}", err=True)
        sys.exit(2)


if __name__ == "__main__":
    main()
