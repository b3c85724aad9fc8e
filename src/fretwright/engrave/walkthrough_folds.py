"""How a teacher shortens what is said: the same on other strings, back the same way, the same bar again.

Moments enter in order of time; passages leave, which together hold every moment exactly once and in
order. A passage that is folded refers to moments before it whose words the listener has just heard.
"""

from collections.abc import Sequence

from fretwright.engrave.walkthrough_back import Back, longest_back
from fretwright.engrave.walkthrough_bars import SameBars
from fretwright.engrave.walkthrough_moments import Moment
from fretwright.engrave.walkthrough_runs import Run, SameOnStrings, fold_runs
from fretwright.engrave.walkthrough_sameness import Sameness

Passage = Run | SameOnStrings | Back | SameBars


def fold_line(moments: Sequence[Moment], sameness: Sameness) -> tuple[Passage, ...]:
    """Fold a line without regard to its bars: first the longest way back, then runs on other strings."""
    back = longest_back(moments, sameness)
    if back is None:
        return tuple(fold_runs(moments, sameness))
    start, passage = back
    after = moments[start + len(passage.moments) :]
    return (*fold_runs(moments[:start], sameness), passage, *fold_runs(after, sameness))
