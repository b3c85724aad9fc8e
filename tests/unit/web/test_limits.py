"""Rates hold for all servers of a school together, and what is stored of them tells nothing."""

from dataclasses import replace
from unittest import mock

import pytest
from sqlalchemy import func, select

from fretwright.base.errors import RefusedError
from fretwright.store.tables import rates
from fretwright.web.limits import RATES, Limits, Rate
from school import Class


def limits_of(made: Class, rate: str) -> Limits:
    """A server's own counter over the database that all of them share."""
    return Limits(made.school.database, made.school.key, made.clock, dict.fromkeys(RATES, rate))


def asked_until_refused(servers: list[Limits], what: str) -> int:
    """How often somebody is answered who asks the servers in turn."""
    for number in range(3000):
        try:
            servers[number % len(servers)].count(what, "somebody")
        except RefusedError:
            return number
    return 3000


@pytest.mark.parametrize("what", sorted(RATES))
def test_a_rate_is_kept_for_each_by_themselves(school_class: Class, what: str) -> None:
    limits = limits_of(school_class, "3/hour")
    for _ in range(3):
        limits.count(what, "one")

    with pytest.raises(RefusedError, match="too often"):
        limits.count(what, "one")
    limits.count(what, "another")
    school_class.clock.forward(hours=2)
    limits.count(what, "one")


def test_servers_count_together(school_class: Class) -> None:
    one, other = limits_of(school_class, "3/hour"), limits_of(school_class, "3/hour")
    for limits in (one, other, one):
        limits.count("token", "somebody")

    with pytest.raises(RefusedError):
        other.count("token", "somebody")


def test_a_wide_rate_is_written_down_in_steps_and_kept_by_all_servers(school_class: Class) -> None:
    servers = [limits_of(school_class, "1200/minute") for _ in range(2)]
    step = Rate.of("1200/minute").step
    for _ in range(step - 1):
        servers[0].count("person", "somebody")
    with school_class.school.database.reading() as transaction:
        assert transaction.execute(select(func.count()).select_from(rates)).scalar_one() == 0

    answered = step - 1 + asked_until_refused(servers, "person")
    assert 1200 - step < answered <= 1200 + len(servers) * step


def test_whoever_is_refused_a_wide_rate_costs_no_more_than_a_look(school_class: Class) -> None:
    limits = limits_of(school_class, "1200/minute")
    asked_until_refused([limits], "address")

    with mock.patch.object(limits.database, "writing", side_effect=AssertionError):
        assert asked_until_refused([limits], "address") == 0


def test_nobodys_address_or_number_is_stored(school_class: Class) -> None:
    client = school_class.client()
    client.post("/sign-in", data={"email": "isolde@example.org"})

    with school_class.school.database.reading() as transaction:
        keys = transaction.execute(select(rates.c.key)).scalars().all()
    assert len(keys) == 2
    assert all(len(key) == 64 and set(key) <= set("0123456789abcdef") for key in keys)
    strangers = replace(school_class.school.limits, key=b"another school")
    strangers.count("sign-in-address", "testclient")
    with school_class.school.database.reading() as transaction:
        assert len(transaction.execute(select(rates.c.key)).scalars().all()) == 3
