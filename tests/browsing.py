"""What the journeys in a browser share: a built site, and a visit to one of its pages."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Protocol

from playwright.sync_api import Page

from fretwright.publish.material import ExerciseMaterial

AXE: Final = Path(__file__).parent / "data" / "vendor" / "axe.min.js"


@dataclass(frozen=True)
class Site:
    """A built site, on disk and served from this machine."""

    folder: Path
    web: str
    """Address of its server, without a slash at the end."""
    materials: Mapping[str, ExerciseMaterial]

    @property
    def pages(self) -> tuple[str, ...]:
        """Every page, by path."""
        return tuple(sorted(str(each.relative_to(self.folder)) for each in self.folder.rglob("*.html")))

    def address(self, path: str, over: str) -> str:
        """A page's address over ``file`` or ``http``."""
        return (self.folder / path).as_uri() if over == "file" else f"{self.web}/{path}"


@dataclass
class Visit:
    """One page in a fresh profile, and everything that must not have happened there."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    """Messages on the console, and errors that no script caught."""
    requests: list[str] = field(default_factory=list)
    forgiven: tuple[str, ...] = ()
    """Complaints that this visit provokes on purpose."""

    def axe(self) -> list[str]:
        """What axe-core finds, with the elements it finds it at.

        It is told not to fetch style sheets a second time, which the policy of the pages forbids.
        """
        self.page.evaluate(AXE.read_text(encoding="utf-8"))
        found: list[dict[str, Any]] = self.page.evaluate(
            "axe.run(document, {preload: false}).then((result) => result.violations)"
        )
        return [f"{each['id']}: {node['html'][:150]}" for each in found for node in each["nodes"]]


class OpenPage(Protocol):
    """Opens a page in a fresh profile."""

    def __call__(
        self,
        site: Site,
        path: str,
        *,
        over: str = "file",
        width: int = 1280,
        height: int = 900,
        script: str = "",
        **options: Any,  # noqa: ANN401 - those of a browser context
    ) -> Visit:
        """``over`` is ``file`` or ``http``; ``script`` runs before the page's own."""
