"""A tuning block as its template shows it."""

from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup

from fretwright.course.model import TuningBlock
from fretwright.publish.tuning import Taught, WayTaught, tuning_taught


@dataclass(frozen=True, slots=True)
class ToneView:
    """One sound with its address."""

    label: str
    address: str


@dataclass(frozen=True, slots=True)
class StepView:
    """One step in words, with what sounds for it."""

    words: str
    tones: tuple[ToneView, ...]


@dataclass(frozen=True, slots=True)
class WayView:
    """One way of tuning."""

    heading: str
    before: str
    steps: tuple[StepView, ...]
    after: str


@dataclass(frozen=True, slots=True)
class TuningView:
    """What the template of a tuning block needs, ready to be written out."""

    anchor: str
    title: str
    order: str
    pegs: Markup
    mirrored: Markup
    legend: str
    remark: Markup
    ways: tuple[WayView, ...]


def tuning_view(block: TuningBlock, address: Callable[[str], str], remark: Markup) -> TuningView:
    """Gather what a page shows of a tuning block; ``address`` turns a path into one seen from the page."""
    taught = tuning_taught(block)
    return TuningView(
        anchor=f"tune-{block.id}",
        title=taught.title,
        order=taught.order,
        pegs=Markup(taught.pegs.svg),  # noqa: S704 - drawn by us from a tuning, which holds no markup
        mirrored=Markup(taught.mirrored.svg),  # noqa: S704 - the same
        legend=taught.pegs.legend,
        remark=remark,
        ways=tuple(_way(way, address) for way in taught.ways),
    )


def _way(way: WayTaught, address: Callable[[str], str]) -> WayView:
    return WayView(way.heading, way.before, tuple(_step(step, address) for step in way.steps), way.after)


def _step(step: Taught, address: Callable[[str], str]) -> StepView:
    return StepView(step.words, tuple(ToneView(tone.label, address(tone.path)) for tone in step.tones))
