"""Compilation of the inner loop, with a cache wherever one can be written."""

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
    """Compile a numeric function on its first call and keep the result for later processes."""
    try:
        kernel = numba.njit(cache=True, nogil=True)(function)
    except RuntimeError:  # numba's word for "no folder to cache in"
        kernel = numba.njit(nogil=True)(function)
    return cast("Kernel[P, R]", kernel)
