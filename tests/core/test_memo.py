"""The store of results by identity."""

from __future__ import annotations

from core.geometry.memo import IdentityMemo


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
