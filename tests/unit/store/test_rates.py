"""Rates are counted in the database: a sliding window, one statement, on both databases."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

from sqlalchemy import select

from fretwright.store.database import Database
from fretwright.store.rates import add_hits, forget_rates
from fretwright.store.tables import rates

START = datetime(2027, 3, 4, 9, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


def hit(database: Database, at: datetime, *, key: str = "one", hits: int = 1, most: int = 4) -> bool:
    with database.writing() as transaction:
        return add_hits(transaction, key, hits, most=most, every=HOUR, now=at)


def test_what_is_too_much_is_refused_and_not_counted(database: Database) -> None:
    assert [hit(database, START) for _ in range(6)] == [True] * 4 + [False] * 2
    assert hit(database, START, key="another")

    with database.reading() as transaction:
        row = transaction.execute(select(rates).where(rates.c.key == "one")).one()
    assert (row.hits, row.hits_before) == (4, 0)


def test_of_the_span_before_as_much_counts_as_the_window_still_covers(database: Database) -> None:
    for _ in range(4):
        assert hit(database, START + timedelta(minutes=50))

    # after a quarter of the next hour three quarters of those four count: room for one
    quarter = START + timedelta(minutes=75)
    assert [hit(database, quarter) for _ in range(2)] == [True, False]
    # two hours on, nothing is left of them
    later = START + timedelta(minutes=185)
    assert [hit(database, later) for _ in range(5)] == [True] * 4 + [False]


def test_many_hits_at_once_count_as_many(database: Database) -> None:
    assert hit(database, START, hits=3)
    assert not hit(database, START, hits=2)
    assert hit(database, START)


def test_a_clock_that_is_behind_counts_with_the_others(database: Database) -> None:
    for _ in range(4):
        assert hit(database, START)

    assert not hit(database, START - timedelta(minutes=1))


def test_servers_that_ask_at_once_share_the_places(database: Database) -> None:
    with ThreadPoolExecutor(8) as pool:
        counted = list(pool.map(lambda _: hit(database, START, most=10), range(24)))

    assert sum(counted) == 10


def test_old_counts_are_let_go_of(database: Database) -> None:
    hit(database, START)
    hit(database, START + HOUR, key="young")
    with database.writing() as transaction:
        forget_rates(transaction, START + 2 * HOUR)

    with database.reading() as transaction:
        assert transaction.execute(select(rates.c.key)).scalars().all() == ["young"]
