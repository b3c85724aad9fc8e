"""What holds for every test: no network, no unseeded randomness, the same examples in every run."""

import os
import random
import socket
import zlib
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, settings

# `ci`, the default, tries the same examples in every run, so that a red test is red for everyone.
# HYPOTHESIS_PROFILE=explore looks for new ones.
settings.register_profile(
    "ci", derandomize=True, deadline=None, print_blob=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("explore", deadline=None, max_examples=1000, print_blob=True)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

pytest_plugins = ["school_fixtures"]

_SEED = 20_240_229


class NetworkBlockedError(RuntimeError):
    """A test tried to reach another machine."""


def _refuse_beyond_loopback(address: Any) -> None:  # noqa: ANN401 - as free as the socket module's own
    if not isinstance(address, tuple):
        return  # a socket of this machine's file system
    host = str(address[0])
    if host not in {"localhost", "::1", ""} and not host.startswith("127."):
        message = f"tests reach no network, but this one tried {host}"
        raise NetworkBlockedError(message)


@pytest.fixture(scope="session", autouse=True)
def _no_network() -> Iterator[None]:
    """Let sockets reach this machine alone, and look up no other names."""

    class LoopbackSocket(socket.socket):
        def connect(self, address: Any) -> None:  # noqa: ANN401
            _refuse_beyond_loopback(address)
            super().connect(address)

        def connect_ex(self, address: Any) -> int:  # noqa: ANN401
            _refuse_beyond_loopback(address)
            return super().connect_ex(address)

        def sendto(self, *arguments: Any) -> int:  # noqa: ANN401
            _refuse_beyond_loopback(arguments[-1])
            return super().sendto(*arguments)

    look_up = socket.getaddrinfo

    def look_up_loopback(host: Any, *arguments: Any, **options: Any) -> Any:  # noqa: ANN401
        if host is not None:
            _refuse_beyond_loopback((host.decode() if isinstance(host, bytes) else host,))
        return look_up(host, *arguments, **options)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(socket, "socket", LoopbackSocket)
        patch.setattr(socket, "getaddrinfo", look_up_loopback)
        yield


@pytest.fixture(autouse=True)
def _seeded() -> None:
    """Start the global generator of every test at the same place."""
    random.seed(_SEED)


@pytest.fixture
def rng(request: pytest.FixtureRequest) -> np.random.Generator:
    """A generator whose seed is the test's own name: the same numbers alone and among others."""
    return np.random.default_rng([_SEED, zlib.crc32(request.node.nodeid.encode())])
