from fretwright.ear.align import Match, Pass
from fretwright.ear.chosen import last_complete, played_through

COUNT = 16


def one_pass(notes: range, moment: int, extras: tuple[int, ...] = ()) -> Pass:
    matches = tuple(Match(note, moment + index, 60, 5.0, -5.0) for index, note in enumerate(notes))
    return Pass(matches, tuple((at, 62, 3.0) for at in extras), 1.0)


def test_going_back_a_bar_replaces_what_is_repeated_and_its_extras() -> None:
    first, again = one_pass(range(12), 0, extras=(3, 10)), one_pass(range(8, 16), 20)

    (whole,) = played_through([first, again], COUNT)

    assert whole.complete
    assert [match.moment for match in whole.matches] == [*range(8), *range(20, 28)]
    assert [at for at, _, _ in whole.extras] == [3]


def test_a_note_left_out_the_second_time_is_not_taken_from_the_first() -> None:
    again = Pass(tuple(match for match in one_pass(range(8, 16), 20).matches if match.note != 10), (), 1.0)

    (whole,) = played_through([one_pass(range(12), 0), again], COUNT)

    assert [match.note for match in whole.matches] == [*range(10), *range(11, 16)]


def test_who_breaks_off_and_goes_on_from_the_second_note_has_not_begun_anew() -> None:
    (whole,) = played_through([one_pass(range(5), 0), one_pass(range(2, 16), 20)], COUNT)

    assert whole.complete
    assert [match.moment for match in whole.matches] == [0, 1, *range(20, 34)]


def test_beginning_anew_is_another_time_through() -> None:
    times = played_through([one_pass(range(9), 0), one_pass(range(16), 20)], COUNT)

    assert [one.complete for one in times] == [False, True]
    assert last_complete(times) is times[1]


def test_the_fullest_counts_where_none_is_complete() -> None:
    times = played_through([one_pass(range(9), 0), one_pass(range(5), 20)], COUNT)

    assert last_complete(times) is times[0]


def test_a_stray_first_note_between_two_parts_begins_nothing() -> None:
    (whole,) = played_through(
        [one_pass(range(10), 0), one_pass(range(1), 12), one_pass(range(8, 16), 20)], COUNT
    )

    assert whole.complete


def test_no_pass_gives_none() -> None:
    assert last_complete(played_through([], COUNT)) is None
