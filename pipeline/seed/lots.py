"""Which lot goes on which area: lots emptied in a stated order, each at its own quality."""

import math
from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.order_layers import HELD, OFFERED, SEED_USE, TO_ORDER
from pipeline.seed.quantities import bulk_lb
from pipeline.seed.settings import SeedSettings

LAST_DAY = pd.Timestamp("2262-01-01")
"""Stands after every real date: a lot without a test comes last."""


TRACE_LB = 1e-9
"""Less than this is what binary numbers leave over, not seed: the finest seed weighs 100 times
as much (*Arithmetic*: 10 million seeds in a pound)."""


@dataclass(frozen=True, slots=True)
class Stock:
    """Seed of one species that can be drawn on.

    ``lot`` is None for seed still to be found; ``pls_lb`` is infinite where no limit is known.
    """

    lot: str | None
    kind: str
    fraction: float
    pls_lb: float


@dataclass(frozen=True, slots=True)
class Draw:
    """What an area takes out of one stock, in pounds of pure live seed."""

    area: str
    stock: Stock
    pls_lb: float


def drawn(needs: Iterable[tuple[str, float]], stocks: Iterable[Stock]) -> Iterator[Draw]:
    """What each area takes from each stock: areas and stocks both in the order given.

    The last stock must be without limit, so that every need is met; one that is unknown is drawn
    from that last stock as unknown.
    """
    queue = deque(stocks)
    last = queue[-1]
    left = queue[0].pls_lb
    for area, need in needs:
        if math.isnan(need):
            yield Draw(area, last, need)
            continue
        open_need = need
        while open_need > TRACE_LB:
            if left <= TRACE_LB:
                queue.popleft()
                left = queue[0].pls_lb
                continue
            take = min(open_need, left)
            yield Draw(area, queue[0], take)
            open_need -= take
            left -= take


def lots_in_order(lots: pd.DataFrame, settings: SeedSettings) -> pd.DataFrame:
    """Lots with a known quality in the order in which they are drawn on.

    Lot names break ties, so that the order of the rows in a table changes nothing.
    """
    usable = lots[lots["pls_pct"] > 0]
    first = {
        "oldest_test": usable["tested"].fillna(LAST_DAY),
        "cheapest_pls": usable["price_usd_per_pls_lb"].fillna(math.inf),
    }[settings.lot_order]
    return usable.assign(first=first).sort_values(["first", "lot"], kind="stable")


def stocks_of(lots: pd.DataFrame, settings: SeedSettings) -> list[Stock]:
    """Stocks of one species' lots, given in order: all held, what is on offer, then to order."""
    fractions = lots["pls_pct"] / 100
    on_hand_lb, offered_lb = (
        fractions * lots["on_hand_bulk_lb"],
        fractions * lots["offered_bulk_lb"],
    )
    rows = list(zip(lots["lot"], fractions, on_hand_lb, offered_lb.fillna(math.inf), strict=True))
    assumed = settings.assumed_pls_pct
    fraction = fractions.min() if assumed is None else assumed / 100
    return [
        *(Stock(lot, HELD, share, pls) for lot, share, pls, _ in rows if pls > 0),
        *(
            Stock(lot, OFFERED, share, limit)
            for (lot, share, _, limit), is_offered in zip(rows, lots["on_offer"], strict=True)
            if is_offered
        ),
        Stock(None, TO_ORDER, fraction, math.inf),
    ]


def assign_lots(
    seed_rates: pd.DataFrame, lot_quality: pd.DataFrame, settings: SeedSettings
) -> pd.DataFrame:
    """Table ``seed_use``: which lot goes on which area, by species.

    Areas are served in the order of their names. Lots are never averaged: each line has the
    quality of its own lot.
    """
    loose = seed_rates[seed_rates["bag"].isna() & seed_rates["pls_lb"].ne(0)]
    ordered = lots_in_order(lot_quality, settings)
    lots_by_species = dict(iter(ordered.groupby("species")))
    draws = []
    for species, rows in loose.sort_values("area", kind="stable").groupby("species"):
        stocks = stocks_of(lots_by_species.get(species, ordered.iloc[:0]), settings)
        needs = zip(rows["area"], rows["pls_lb"], strict=True)
        draws += [(species, draw) for draw in drawn(needs, stocks)]
    if not draws:
        return empty(SEED_USE)
    rows = pd.DataFrame(
        {
            "area": [draw.area for _, draw in draws],
            "species": [species for species, _ in draws],
            "lot": pd.Series([draw.stock.lot for _, draw in draws], dtype=object),
            "stock": [draw.stock.kind for _, draw in draws],
            "pls_pct": [draw.stock.fraction * 100 for _, draw in draws],
            "pls_lb": [draw.pls_lb for _, draw in draws],
        }
    )
    return rows.assign(bulk_lb=bulk_lb(rows["pls_lb"], rows["pls_pct"] / 100))
