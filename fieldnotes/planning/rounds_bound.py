"""What a fortnight costs at least: routes that may repeat a visit, priced so that it pays little.

Each visit gets a price. A day then costs at least its cheapest walk (time kept, a visit may come
again, but not straight back) less the prices of what it visits; the prices are raised and lowered
until the sum is as large as they make it. Valid for any prices (Lagrangian relaxation; the walks
without two-cycles: Christofides, Mingozzi, Toth, Networks 11, 1981).
"""

from __future__ import annotations

import math
from importlib.util import find_spec
from typing import TYPE_CHECKING

from fieldnotes.planning.rounds_walks import Walks

if TYPE_CHECKING:
    from fieldnotes.planning.rounds import RoundsProblem

_ROUNDS = 40
PLAIN = "nearest neighbours"
WALKS = "priced walks"


def lower_bound(p: RoundsProblem, known: float) -> tuple[float, str]:
    """Give (bound, how it was got); `known` is the cost of a plan, which it never exceeds."""
    plain = _nearest(p)
    if find_spec("numpy") is None or not p.visits or not p.days:
        return min(plain, known), PLAIN
    walks = _walk_bound(p, known)
    return (min(walks, known), WALKS) if walks > plain else (min(plain, known), PLAIN)


def _nearest(p: RoundsProblem) -> float:
    """Give the sum of half the two shortest drives at every visit, plus its cheapest day."""
    total = 0.0
    for j in p.visits:
        into = min(p.travel[i][j] for i in range(len(p.travel)) if i != j)
        late = min((x for x in p.penalty[j] if x is not None), default=math.inf)
        total += min(into + late, p.unplaced_price)
    return total


def _walk_bound(p: RoundsProblem, known: float) -> float:
    """Raise the bound by subgradient steps (Held, Wolfe, Crowder 1974) towards `known`."""
    import numpy as np  # noqa: PLC0415

    walks = Walks(p)
    if not walks.usable:
        return -math.inf
    hopeless = np.array([all(x is None for x in row) for row in p.penalty])
    hopeless[0] = False
    priced = max(1, len(p.visits) - int(hopeless.sum()))
    rest = max(0.0, known - float(hopeless.sum()) * p.unplaced_price)
    prices = np.where(hopeless, p.unplaced_price, rest / priced)
    best, step, stale = -math.inf, 1.0, 0
    for _ in range(_ROUNDS):
        prices = np.minimum(prices, p.unplaced_price)
        prices[0] = 0.0
        worth, visited = walks.cheapest(prices)
        bound = worth + float(prices.sum())
        stale = 0 if bound > best + 1e-9 else stale + 1
        best = max(best, bound)
        if stale >= 5:
            step, stale = step / 2, 0
        off = 1.0 - visited
        off[0] = 0.0
        off[(off > 0) & (prices >= p.unplaced_price)] = 0.0  # dear enough already
        length = float((off**2).sum())
        if length == 0:
            break
        prices = prices + off * step * max(known - bound, 0.005 * known) / length
    return best
