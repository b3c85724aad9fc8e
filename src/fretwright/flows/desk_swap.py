"""Two names that change their files in one step, where the system can do that."""

import ctypes
import errno
import os
import sys
from functools import cache
from pathlib import Path
from typing import Any, Final

_HERE: Final = -100
"""AT_FDCWD of linux/fcntl.h: names count from the working folder."""
_EXCHANGE: Final = 2
"""RENAME_EXCHANGE of linux/fs.h; renameat2(2)."""
_CANNOT: Final = frozenset({errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM})


def swap_names(one: Path, other: Path) -> bool:
    """Let two names change their files; False, and nothing done, where the system has no such step.

    Raises :class:`OSError` where it has and either name cannot be changed.
    """
    call = _renameat2()
    if call is None:
        return False
    if call(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0:
        return True
    number = ctypes.get_errno()
    if number in _CANNOT:
        return False
    raise OSError(number, os.strerror(number), str(other))


@cache
def _renameat2() -> Any:  # noqa: ANN401 - a function of the C library, or None
    """The call of the C library, from glibc 2.28 and musl 1.2.4 on."""
    if not sys.platform.startswith("linux"):
        return None
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if call is not None:
        call.argtypes = (ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_uint)
        call.restype = ctypes.c_int
    return call
