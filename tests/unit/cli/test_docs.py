"""The documents say what the commands take, and the schemas are schemas."""

import json
import re
from pathlib import Path

import click
import jsonschema
import pytest

from fretwright.cli.main import group

DOCS = Path(__file__).parents[3] / "docs"
CONTEXT = click.Context(group)
COMMANDS = {name: group.get_command(CONTEXT, name) for name in group.list_commands(CONTEXT)}


def section_of(command: str) -> str:
    text = (DOCS / "commands.md").read_text(encoding="utf-8")
    return text.split(f"\n## `{command}`\n")[1].split("\n## ")[0]


def test_every_command_has_its_section_and_no_other() -> None:
    text = (DOCS / "commands.md").read_text(encoding="utf-8")

    assert set(re.findall(r"^## `([a-z]+)`$", text, re.MULTILINE)) == set(COMMANDS)


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_option_is_told_and_every_told_option_exists(name: str) -> None:
    command = COMMANDS[name]
    assert command is not None
    options = {option for each in command.params for option in each.opts if option.startswith("--")}
    usage = (DOCS / "commands.md").read_text(encoding="utf-8")
    usages = [line for line in usage.splitlines() if line.startswith(f"    fretwright {name} ")]
    told = set(re.findall(r"--[a-z-]+", " ".join(usages) + section_of(name)))

    assert options <= told
    assert {option for line in usages for option in re.findall(r"--[a-z-]+", line)} == options


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_says_what_it_is_for(name: str) -> None:
    command = COMMANDS[name]

    assert command is not None
    assert command.help
    assert all(param.help for param in command.params if isinstance(param, click.Option))


@pytest.mark.parametrize("path", sorted((DOCS / "schemas").glob("*.json")), ids=lambda path: path.stem)
def test_every_schema_is_a_schema_and_is_named_in_the_documents(path: Path) -> None:
    schema = json.loads(path.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)

    texts = [file.read_text(encoding="utf-8") for file in DOCS.glob("*.md")]
    assert any(f"schemas/{path.name}" in text for text in texts)
