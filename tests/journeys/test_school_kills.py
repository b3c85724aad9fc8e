"""A school that is killed loses nothing: the short form of ``python -m evaluation.school``."""

from pathlib import Path

import pytest
from evaluation.school.killing import kill_at_random
from evaluation.school.postgres import Postgres
from evaluation.school.rig import open_rig


@pytest.mark.parametrize("database", ["sqlite", "postgresql"])
def test_killed_servers_and_judges_lose_nothing_and_double_nothing(
    tmp_path: Path, database: str, request: pytest.FixtureRequest
) -> None:
    address: str | None = None
    if database == "postgresql":
        server: Postgres = request.getfixturevalue("postgres")
        address = server.empty_database()
    rig = open_rig(tmp_path, address, students=2, builds=False)
    try:
        count = kill_at_random(rig, kills=2, seed=7, judges_share=0.5, pause_s=2.0)
    finally:
        rig.close()

    assert count.of_servers >= 1
    assert count.is_good, count
