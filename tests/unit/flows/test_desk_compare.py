"""Two texts beside each other."""

from hypothesis import given
from hypothesis import strategies as st

from fretwright.flows.desk_compare import Side, compare

_TEXTS = st.lists(st.sampled_from(["", "tempo: 60", "notes: eighths", "path: up", "---"]), max_size=30)


@given(_TEXTS, _TEXTS)
def test_a_comparison_holds_every_line_of_both_texts_in_order(mine: list[str], theirs: list[str]) -> None:
    lines = compare("\n".join(mine), "\n".join(theirs))
    for side, text in ((Side.MINE, mine), (Side.THEIRS, theirs)):
        shown = [line.text for line in lines if line.side in {side, Side.BOTH}]
        hidden = sum(int(line.text.split()[0]) for line in lines if line.side is Side.GAP)
        whole = text or [""]
        assert len(shown) + hidden == len(whole)
        walk = iter(whole)
        assert all(line in walk for line in shown)


def test_two_long_texts_with_nothing_in_common_are_compared_quickly() -> None:
    mine, theirs = ("\n".join(f"{word} {n}" for n in range(20_000)) for word in ("mine", "theirs"))

    lines = compare(f"head\n{mine}\ntail", f"head\n{theirs}\ntail")

    assert [line.side for line in (lines[0], lines[-1])] == [Side.BOTH, Side.BOTH]
    assert len(lines) == 40_002
