"""Every order of every choice of stops, tried one by one: the oracle for days of up to 7 stops."""

from __future__ import annotations

import math
from itertools import combinations, permutations

TOO_LATE = None


def _ends(t, order):
    """All (cost, finish) an order can have, with the pause at every place it may stand."""
    b = t.get("break")
    states = [(t["windows"][0][0], b is None or not order)]
    here = 0
    for j in order:
        opens, closes = t["windows"][j]
        following = []
        for time, rested in states:
            arrive = time + t["travel"][here][j]
            choices = [(arrive, rested, False)]
            if not rested:
                begin = max(arrive, b["earliest"])
                if begin <= b["latest"]:
                    choices.append((begin + b["minutes"], True, False))
                choices.append((arrive, True, True))
            for ready, rest, after in choices:
                start = max(ready, opens)
                if start > closes:
                    continue
                leave = start + t["service"][j]
                if after:
                    begin = max(leave, b["earliest"])
                    if begin > b["latest"]:
                        continue
                    leave = begin + b["minutes"]
                following.append((leave, rest))
        states, here = following, j
    home = t["travel"][here][0] if order else 0
    end = min(t.get("day_end", math.inf), t["windows"][0][1])
    return [time + home for time, rested in states if rested and time + home <= end]


def _rules_kept(t, order):
    locks = t.get("locks", {})
    if "first" in locks and (not order or order[0] != locks["first"]):
        return False
    if "final" in locks and (not order or order[-1] != locks["final"]):
        return False
    late = [j in t.get("last", ()) for j in order]
    return late == sorted(late)


def best_cost(t):
    """The least travel (or finish) plus penalties, None if there is no plan."""
    n = len(t["travel"])
    skip = t.get("skip", [None] * n)
    best = TOO_LATE
    for size in range(n):
        for chosen in combinations(range(1, n), size):
            left = [j for j in range(1, n) if j not in chosen]
            if any(skip[j] is None for j in left):
                continue
            for order in permutations(chosen):
                if not _rules_kept(t, order):
                    continue
                for finish in _ends(t, order)[:]:
                    legs = zip((0, *order), (*order, 0), strict=True)
                    travel = sum(t["travel"][i][j] for i, j in legs) if order else 0
                    cost = (finish if t["minimise"] == "finish" else travel) + sum(
                        skip[j] for j in left
                    )
                    best = cost if best is None else min(best, cost)
    return best
