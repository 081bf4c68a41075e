"""Which lot goes on which area: lots emptied in a stated order, each at its own quality."""

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.decimals import (
    HUNDRED,
    UNKNOWN,
    ZERO,
    decimal_of,
    decimals,
    exceeds,
    floats,
    quotient,
)
from pipeline.seed.order_layers import SEED_USE, TO_ORDER
from pipeline.seed.settings import SeedSettings

LAST_DAY = pd.Timestamp("2262-01-01")
"""Stands after every real date: a lot without a test comes last."""


@dataclass(frozen=True, slots=True)
class Stock:
    """Seed of one species that can be drawn on. ``pls_lb`` is None where no limit is known."""

    lot: str
    stock: str
    fraction: Decimal
    pls_lb: Decimal | None


@dataclass(frozen=True, slots=True)
class Draw:
    """What an area takes out of one stock, in pounds of pure live seed."""

    area: str
    stock: Stock
    pls_lb: Decimal

    @property
    def bulk_lb(self) -> Decimal:
        """The same as weighed [lb]; unknown where the lot's quality is."""
        return quotient(self.pls_lb, self.stock.fraction)


def drawn(needs: Iterable[tuple[str, Decimal]], stocks: Iterable[Stock]) -> Iterator[Draw]:
    """What each area takes from each stock: areas and stocks both in the order given.

    The last stock must be without limit, so that every need is met; one that is unknown is drawn
    from that last stock as unknown.
    """
    queue = deque(stocks)
    last = queue[-1]
    left = queue[0].pls_lb
    for area, need in needs:
        if need.is_nan():
            yield Draw(area, last, UNKNOWN)
            continue
        open_need = need
        while open_need > 0:
            stock = queue[0]
            take = open_need if left is None else min(open_need, left)
            if take > 0:
                yield Draw(area, stock, take)
            open_need -= take
            if left is not None:
                left -= take
                if left == 0:
                    queue.popleft()
                    left = queue[0].pls_lb


def lots_in_order(lots: pd.DataFrame, settings: SeedSettings) -> pd.DataFrame:
    """Lots with a known quality in the order in which they are drawn on.

    Lot names break ties, so that the order of the rows in a table changes nothing.
    """
    usable = lots[lots["pls_pct"] > 0]
    first = {
        "oldest test": usable["tested"].fillna(LAST_DAY),
        "cheapest PLS": usable["price_usd_per_pls_lb"].fillna(float("inf")),
    }[settings.lot_order]
    return usable.assign(first=first).sort_values(["first", "lot"], kind="stable")


def stocks_of(ordered: pd.DataFrame, settings: SeedSettings) -> list[Stock]:
    """Stocks of one species' lots, given in order: all held, what is on offer, then to order."""
    rows = list(
        zip(
            ordered["lot"],
            [value / HUNDRED for value in decimals(ordered["pls_pct"])],
            decimals(ordered["on_hand_bulk_lb"]),
            decimals(ordered["offered_bulk_lb"]),
            ordered["on_offer"],
            strict=True,
        )
    )
    held = [Stock(lot, "held", f, f * bulk) for lot, f, bulk, _, _ in rows if exceeds(bulk, ZERO)]
    offers = [
        Stock(lot, "offer", f, None if limit.is_nan() else f * limit)
        for lot, f, _, limit, on_offer in rows
        if on_offer
    ]
    assumed = decimal_of(settings.assumed_pls_pct) / HUNDRED
    if assumed.is_nan() and rows:
        assumed = min(f for _, f, _, _, _ in rows)
    return [*held, *offers, Stock(TO_ORDER, TO_ORDER, assumed, None)]


def assign_lots(
    seed_rates: pd.DataFrame, lot_quality: pd.DataFrame, settings: SeedSettings
) -> pd.DataFrame:
    """Table ``seed_use``: which lot goes on which area, by species.

    Areas are served in the order of their names. Lots are never averaged: each line has the
    quality of its own lot.
    """
    loose = seed_rates[seed_rates["bag"].isna() & ~seed_rates["pls_lb"].eq(0)]
    ordered = lots_in_order(lot_quality, settings)
    lots_by_species = dict(iter(ordered.groupby("species")))
    draws = []
    for species, rows in loose.sort_values("area", kind="stable").groupby("species"):
        stocks = stocks_of(lots_by_species.get(species, ordered.iloc[:0]), settings)
        needs = zip(rows["area"], decimals(rows["pls_lb"]), strict=True)
        draws += [(species, draw) for draw in drawn(needs, stocks)]
    if not draws:
        return empty(SEED_USE)
    return pd.DataFrame(
        {
            "area": [draw.area for _, draw in draws],
            "species": [species for species, _ in draws],
            "lot": [draw.stock.lot for _, draw in draws],
            "stock": [draw.stock.stock for _, draw in draws],
            "pls_pct": floats(draw.stock.fraction * HUNDRED for _, draw in draws),
            "pls_lb": floats(draw.pls_lb for _, draw in draws),
            "bulk_lb": floats(draw.bulk_lb for _, draw in draws),
        }
    )
