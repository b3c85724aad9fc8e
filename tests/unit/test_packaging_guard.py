"""The rules of tests/conftest.py bite."""

import random
import socket
import threading
import zlib

import numpy as np
import pytest

ELSEWHERE = "192.0.2.1"  # TEST-NET-1 of RFC 5737: never assigned


def test_no_test_reaches_another_machine() -> None:
    with (
        socket.socket() as connection,
        pytest.raises(RuntimeError, match=f"no network, but this one tried {ELSEWHERE}"),
    ):
        connection.connect((ELSEWHERE, 80))
    with pytest.raises(RuntimeError, match="no network"):
        socket.create_connection((ELSEWHERE, 80), timeout=0.1)
    with socket.socket(type=socket.SOCK_DGRAM) as letter, pytest.raises(RuntimeError, match="no network"):
        letter.sendto(b"hello", (ELSEWHERE, 9))


def test_no_test_looks_up_a_name() -> None:
    with pytest.raises(RuntimeError, match=r"no network, but this one tried name\.invalid"):
        socket.getaddrinfo("name.invalid", 443)


def test_this_machine_stays_reachable() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:

        def hang_up() -> None:
            server.accept()[0].close()

        answer = threading.Thread(target=hang_up)
        answer.start()
        with socket.create_connection(server.getsockname()[:2], timeout=5) as connection:
            assert connection.recv(1) == b""
        answer.join(timeout=5)


@pytest.mark.parametrize("_again", [1, 2])
def test_the_global_generator_starts_at_the_same_place(_again: int) -> None:
    assert random.random() == random.Random(20_240_229).random()


def test_the_generator_of_a_test_follows_its_name(
    rng: np.random.Generator, request: pytest.FixtureRequest
) -> None:
    name = request.node.nodeid.encode()
    assert rng.random() == np.random.default_rng([20_240_229, zlib.crc32(name)]).random()
