"""The store of results by identity."""

from __future__ import annotations

from core.geometry.memo import IdentityMemo, kept


def test_it_forgets_the_one_asked_for_longest_ago_and_grows_on_demand() -> None:
    memo: IdentityMemo[int] = IdentityMemo(2)
    keys, asked = [object() for _ in range(4)], []

    def get(i: int) -> int:
        return memo.get((keys[i],), lambda: asked.append(i) or i)

    for i in (0, 1, 0, 2, 0, 1):
        assert get(i) == i
    assert asked == [0, 1, 2, 1], "1 went when 2 came, since 0 was asked for again"
    memo.at_least(4)
    memo.at_least(3)
    asked.clear()
    for i in (0, 1, 2, 3, 0, 1, 2, 3):
        get(i)
    assert asked == [2, 3]


def test_a_result_stays_with_its_value_and_goes_with_it() -> None:
    class Value:
        pass

    asked: list[Value] = []

    @kept
    def first(value: Value) -> int:
        asked.append(value)
        return len(asked)

    @kept
    def second(value: Value) -> None:
        asked.append(value)

    one, other = Value(), Value()
    assert [first(one), first(one), first(other), first(one)] == [1, 1, 2, 1]
    assert second(one) is None and second(one) is None and len(asked) == 3
