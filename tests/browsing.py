"""What the journeys in a browser share: a built site, and a visit to one of its pages."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, Protocol

from playwright.sync_api import Locator, Page

from fretwright.publish.material import ExerciseMaterial

AXE: Final = Path(__file__).parent / "data" / "vendor" / "axe.min.js"

CHROMIUM: Final = Path("/usr/bin/chromium")
CHROMIUM_ARGUMENTS: Final = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
    # Not even a name is looked up beyond this machine.
    "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1",
)
"""How every browser of the tests is started."""

LESSON: Final = "lessons/01-stairs.html"
SLURRED: Final = "#ex-slurred"
"""Two bars at 120 with slurs and a rest; its first rung takes four seconds."""


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


# The player

RECORDER: Final = """
window.started = [];
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (when, offset, duration) {
  const { currentTime: at, sampleRate: rate } = this.context;
  window.started.push({ when, offset, duration, at, rate, isClick: this.buffer.length < 4000 });
  return start.call(this, when, offset, duration);
};
"""
"""Notes every start that a page asks of Web Audio, on the clock of its audio context."""

FADE_IN_FRAMES: Final = 192
"""Music is booked with the four milliseconds that fade in before its first frame."""


def press_play(section: Locator) -> None:
    """Press play, and wait until it plays."""
    section.locator("[data-play]").click()
    until(section.page, "Player.active.state === 'playing'")


def state(section: Locator) -> str:
    """What the page says that it does."""
    return section.locator("[data-state]").inner_text()


def framed(section: Locator) -> list[str]:
    """Ids of the notes that are framed on the wide plate."""
    frames = section.locator(".copy.wide [data-around]")
    found: list[str] = frames.evaluate_all("(all) => [...new Set(all.map((each) => each.dataset.around))]")
    return found


def until(page: Page, expression: str, timeout_s: float = 10.0) -> None:
    """Wait until an expression holds in a page whose policy forbids the usual way of waiting for it."""
    ends = time.monotonic() + timeout_s
    while not page.evaluate(f"Boolean({expression})"):
        assert time.monotonic() < ends, f"still waiting until {expression}"
        page.wait_for_timeout(20)


def started(page: Page, *, clicks: bool) -> list[dict[str, float]]:
    """Starts noted by :data:`RECORDER`: those of clicks, or those of music."""
    found: list[dict[str, float]] = page.evaluate("window.started")
    return [each for each in found if bool(each["isClick"]) is clicks]


def in_frames(starts: list[dict[str, float]], key: str = "when") -> list[int]:
    """Times of starts as frames, which they must be exactly."""
    frames = [each[key] * each["rate"] for each in starts]
    assert all(abs(frame - round(frame)) < 1e-5 for frame in frames), frames
    return [round(frame) for frame in frames]


def desk(page: Page, exercise: str = SLURRED) -> Locator:
    """The section of an exercise with its player."""
    return page.locator(exercise)


def without_count(section: Locator) -> None:
    """Start at once, with no bar counted first."""
    section.locator("[data-count-in]").uncheck()
