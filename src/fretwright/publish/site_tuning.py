"""A tuning block as its template shows it."""

from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup

from fretwright.course.model import TuningBlock
from fretwright.publish.tuning import TuningTaught, tuning_taught


@dataclass(frozen=True, slots=True)
class TuningView:
    """What the template of a tuning block needs."""

    anchor: str
    taught: TuningTaught
    pegs: Markup
    mirrored: Markup
    remark: Markup
    address: Callable[[str], str]
    """Turns a path of the output folder into one seen from the page."""


def tuning_view(block: TuningBlock, address: Callable[[str], str], remark: Markup) -> TuningView:
    """Gather what a page shows of a tuning block; ``address`` turns a path into one seen from the page."""
    taught = tuning_taught(block)
    return TuningView(
        anchor=f"tune-{block.id}",
        taught=taught,
        pegs=Markup(taught.pegs.svg),  # noqa: S704 - drawn by us from a tuning, which holds no markup
        mirrored=Markup(taught.mirrored.svg),  # noqa: S704 - the same
        remark=remark,
        address=address,
    )
