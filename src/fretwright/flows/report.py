"""What a build says when it is done, and says again when nothing has changed."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final

from fretwright.base.findings import Finding, Severity
from fretwright.base.spans import Span
from fretwright.flows.digests import digest, digest_of_folder
from fretwright.flows.shelf import Shelf
from fretwright.publish.material import ALONE, Surround

START_PAGE: Final = "index.html"


@dataclass(frozen=True, slots=True)
class BuildOrder:
    """What to build, and how."""

    course: Path
    out: Path
    only: str | None = None
    """Slug of the one lesson to build; ``None`` for all."""
    paper: str = "a4"
    """A size of :class:`~fretwright.publish.handout.Paper`."""
    surround: Surround = ALONE
    """What stands around every page."""
    films: bool = False
    """Film every exercise for its page; this takes longer than everything else together."""
    left_handed: bool | None = None
    """Pictures for players of one hand; ``None`` as the course says."""
    cluster: str | None = None
    """Address of a Dask scheduler on which films are made; it makes no difference to them."""


@dataclass(frozen=True, slots=True)
class BuildReport:
    """What came of it."""

    findings: tuple[Finding, ...]
    made: int
    """Files written by this build."""
    kept: int
    """Files left as they were."""
    start_page: Path


def recall(order: BuildOrder, shelf: Shelf) -> BuildReport | None:
    """The report of the last build, where it was whole and nothing has changed since; quick."""
    saved = shelf.note("findings")
    if saved is None or shelf.note("inputs") != inputs_digest(order) or not shelf.is_complete():
        return None
    return BuildReport(_findings(saved), 0, shelf.file_count, order.out / START_PAGE)


def remember(inputs: str, report: BuildReport) -> dict[str, str]:
    """The notes by which a later build of the same inputs can recall this one."""
    return {
        "inputs": inputs,
        "findings": json.dumps([asdict(finding) for finding in report.findings], ensure_ascii=False),
    }


def inputs_digest(order: BuildOrder) -> str:
    """One word for everything that a build is made from."""
    folder = digest_of_folder(order.course, apart_from=order.out)
    return digest(folder, order.only, order.paper, order.surround, order.films, order.left_handed)


def _findings(saved: str) -> tuple[Finding, ...]:
    return tuple(
        Finding(**{**entry, "span": Span(**entry["span"]), "severity": Severity(entry["severity"])})
        for entry in json.loads(saved)
    )
