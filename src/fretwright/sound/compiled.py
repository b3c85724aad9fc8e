"""Compilation of the inner loops, with a cache wherever one can be written."""

from collections.abc import Callable
from typing import ParamSpec, Protocol, TypeVar, cast

import numba

P = ParamSpec("P")
R = TypeVar("R", covariant=True)  # noqa: PLC0105 - one letter reads best beside P


class Kernel(Protocol[P, R]):
    """A compiled function that still holds its plain Python form for tests."""

    @property
    def py_func(self) -> Callable[P, R]:
        """The same function, not compiled."""
        ...

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R:
        """Run the compiled function."""
        ...


def compiled(function: Callable[P, R]) -> Kernel[P, R]:
    """Compile a numeric function on its first call and keep the result for later processes.

    The cache lies beside the module or, where that folder cannot be written, in the user's cache
    folder; numba replaces its files in one step, so that processes may share them. Where neither can
    be written the function is compiled once per process. Arithmetic stays strict (no reordering, no
    fused operations), so that compiled and plain runs agree.
    """
    try:
        kernel = numba.njit(cache=True, nogil=True)(function)
    except RuntimeError:  # numba's word for "no folder to cache in"
        kernel = numba.njit(nogil=True)(function)
    return cast("Kernel[P, R]", kernel)
