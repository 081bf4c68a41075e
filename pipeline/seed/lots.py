"""Which lot goes on which area: lots emptied in a stated order, each at its own quality.

Areas are served by their day of planting, and only from lots whose test counts on that day. The
shed is used up first, its oldest good test before the others; what is lacking is bought from the
offers in the order that the user wants, in whole packs.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.order_layers import HELD, OFFERED, SEED_USE, TO_ORDER
from pipeline.seed.packs import order_pack_lb, whole_packs_lb
from pipeline.seed.quantities import known_quotient
from pipeline.seed.rates import companion_needs, net_ac_by_area
from pipeline.seed.settings import SeedSettings

LAST_DAY = pd.Timestamp("2262-01-01")
"""Stands after every real date: a lot without a test and an area without a day come last."""


TRACE_LB = 1e-9
"""Less than this is what binary numbers leave over, not seed: the finest seed weighs 100 times
as much (*Arithmetic*: 10 million seeds in a pound)."""


@dataclass(frozen=True, slots=True)
class Stock:
    """Seed of one species, nurse crop, carrier or pre-mixed bag that can be drawn on.

    ``lot`` is None for seed still to be found; ``bulk_lb`` is infinite where no limit is known,
    ``fraction`` is pure live seed over bulk. ``tested`` and ``last_good`` bound the days on which
    its test counts; NaT bounds nothing.
    """

    lot: str | None
    kind: str
    fraction: float
    bulk_lb: float
    tested: pd.Timestamp = pd.NaT
    last_good: pd.Timestamp = pd.NaT

    def serves(self, need: "Need") -> bool:
        """Whether its quality is known as far as the need asks, and its test counts on the day."""
        if self.lot is None:
            return True
        if need.pure and not self.fraction > 0:
            return False
        return not (
            need.planting > self.last_good
            or need.planting < self.tested.replace(day=1)  # the month of the test counts
        )


@dataclass(frozen=True, slots=True)
class Need:
    """What an area needs of one species: pounds of pure live seed, or pounds as weighed."""

    area: str
    role: str
    lb: float
    pure: bool = True
    planting: pd.Timestamp = pd.NaT


@dataclass(frozen=True, slots=True)
class Draw:
    """What an area takes out of one stock [lb]; pure live seed is NaN where it goes by weight."""

    need: Need
    stock: Stock
    pls_lb: float
    bulk_lb: float

    @property
    def share(self) -> float:
        """What it is of the need."""
        return (self.pls_lb if self.need.pure else self.bulk_lb) / self.need.lb


def drawn(needs: Iterable[Need], stocks: Sequence[Stock]) -> Iterator[Draw]:
    """What each area takes from each stock that may serve it, both in the order given.

    The last stock must be without limit, so that every need is met; one that is unknown is drawn
    from that last stock as unknown.
    """
    left_lb = [stock.bulk_lb for stock in stocks]
    for need in needs:
        if math.isnan(need.lb):
            yield Draw(need, stocks[-1], math.nan, math.nan)
            continue
        open_lb = need.lb
        for number, stock in enumerate(stocks):
            if open_lb <= TRACE_LB:
                break
            share = stock.fraction if need.pure else 1.0
            can_lb = math.inf if math.isinf(left_lb[number]) else left_lb[number] * share
            if can_lb <= TRACE_LB or not stock.serves(need):
                continue
            take_lb = min(open_lb, can_lb)
            open_lb -= take_lb
            left_lb[number] -= take_lb / share
            yield Draw(need, stock, take_lb if need.pure else math.nan, take_lb / share)


def shed_order(lots: pd.DataFrame, settings: SeedSettings) -> pd.DataFrame:
    """Lots in the order in which what is held of them is used up.

    Lot names break ties, so that the order of the rows in a table changes nothing.
    """
    first = {
        "oldest_test": lots["tested"].fillna(LAST_DAY),
        "cheapest_pls": lots["price_usd_per_pls_lb"].fillna(math.inf),
    }[settings.lot_order]
    return lots.assign(first=first).sort_values(["first", "lot"], kind="stable")


def buying_order(lots: pd.DataFrame, lacking_lb: float, settings: SeedSettings) -> pd.DataFrame:
    """Lots on offer in the order in which they are bought, for what the shed lacks [lb, bulk].

    The cheapest is the one whose whole packs cost least for each pound that is needed of it, so
    that a large bag is not bought for an ounce.
    """
    offers = lots[lots["on_offer"]]
    if settings.lowest_pls_pct is not None:
        offers = offers[~(offers["pls_pct"] < settings.lowest_pls_pct)]
    if settings.most_origin_mi is not None:
        offers = offers[~(offers["origin_mi"] > settings.most_origin_mi)]
    share = (offers["pls_pct"] / 100).fillna(1.0)
    amounts = zip(offers["offered_bulk_lb"], offers["pack_lb"], strict=True)
    limit_lb = pd.Series([offered_lb(*each) for each in amounts], offers.index, dtype="float64")
    wanted_lb = limit_lb.clip(upper=max(lacking_lb, TRACE_LB) / share)
    pack_lb = order_pack_lb(wanted_lb, offers["pack_lb"], settings)
    cost = whole_packs_lb(wanted_lb, pack_lb) * offers["price_usd_per_bulk_lb"]
    keys = offers.assign(
        cheap=(cost / (wanted_lb * share)).fillna(math.inf),
        fresh=offers["tested"].rsub(LAST_DAY),
        near=offers["origin_mi"].fillna(math.inf),
    )
    first = {
        "cheapest_pls": ["cheap", "fresh"],
        "freshest_test": ["fresh", "cheap"],
        "nearest_origin": ["near", "cheap", "fresh"],
    }[settings.buy_order]
    return keys.sort_values([*first, "lot"], kind="stable")


def stocks_of(lots: pd.DataFrame, needs: Sequence[Need], settings: SeedSettings) -> list[Stock]:
    """Stocks of one species' lots: all held, what is on offer, then what is to be found.

    Seed to be found is taken to be as poor as the poorest lot that has a tag; the own harvest,
    which has none, says nothing of seed that is bought.
    """
    tagged = lots[lots["viable_from"].ne("own_count") & lots["pls_pct"].gt(0)]
    assumed = settings.assumed_pls_pct
    fraction = tagged["pls_pct"].min() / 100 if assumed is None else assumed / 100
    held = [
        _stock(row, HELD, row.on_hand_bulk_lb, settings)
        for row in shed_order(lots, settings).itertuples()
        if row.on_hand_bulk_lb > 0
    ]
    serving = [s for s in held if any(s.serves(need) for need in needs)]
    need_lb = sum(need.lb for need in needs if need.lb > 0)
    shares = ((s, s.fraction if needs[0].pure else 1.0) for s in serving)
    lacking_lb = need_lb - sum(stock.bulk_lb * share for stock, share in shares)
    offers = [
        _stock(row, OFFERED, offered_lb(row.offered_bulk_lb, row.pack_lb), settings)
        for row in buying_order(lots, lacking_lb, settings).itertuples()
    ]
    return [*held, *offers, Stock(None, TO_ORDER, fraction, math.inf)]


def _stock(row: Any, kind: str, bulk_lb: float, settings: SeedSettings) -> Stock:
    """Stock of one lot; an expired test bounds nothing where the user accepts it."""
    last_good = pd.NaT if settings.accept_expired else row.last_good
    return Stock(row.lot, kind, row.pls_pct / 100, bulk_lb, row.tested, last_good)


def offered_lb(offered_bulk_lb: float, pack_lb: float) -> float:
    """Bulk [lb] that can be bought of an offer: whole packs, no end where none is named."""
    if math.isnan(offered_bulk_lb):
        return math.inf
    return offered_bulk_lb // pack_lb * pack_lb if pack_lb > 0 else offered_bulk_lb


def assign_lots(
    seed_rates: pd.DataFrame,
    bag_rates: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    seedings: pd.DataFrame,
    units: gpd.GeoDataFrame,
    lot_quality: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """Table ``seed_use``: which lot goes on which area, by species, nurse crop, carrier and bag.

    Lots are never averaged: each line has the quality of its own lot.
    """
    needs = _needs(seed_rates, bag_rates, companion_needs(seedings, units, mix_sheet), seedings)
    lots_by_species = dict(iter(lot_quality.groupby("species")))
    draws = []
    for species, of_species in needs.items():
        lots = lots_by_species.get(species, lot_quality.iloc[:0])
        stocks = stocks_of(lots, of_species, settings)
        draws += [(species, draw) for draw in drawn(of_species, stocks)]
    if not draws:
        return empty(SEED_USE)
    rows = pd.DataFrame(
        {
            "area": [draw.need.area for _, draw in draws],
            "species": [species for species, _ in draws],
            "role": [draw.need.role for _, draw in draws],
            "lot": pd.Series([draw.stock.lot for _, draw in draws], dtype=object),
            "stock": [draw.stock.kind for _, draw in draws],
            "pls_pct": [draw.stock.fraction * 100 for _, draw in draws],
            "pls_lb": [draw.pls_lb for _, draw in draws],
            "bulk_lb": [draw.bulk_lb for _, draw in draws],
            "share": [draw.share for _, draw in draws],
        }
    )
    sown_ac = rows["share"] * rows["area"].map(net_ac_by_area(seedings, units))
    return rows.drop(columns="share").assign(
        sequence=rows.groupby(["area", "species", "role"]).cumcount() + 1,
        sown_ac=sown_ac,
        bulk_lb_ac=known_quotient(rows["bulk_lb"], sown_ac),
    )


def _needs(
    seed_rates: pd.DataFrame,
    bag_rates: pd.DataFrame,
    companions: pd.DataFrame,
    seedings: pd.DataFrame,
) -> dict[str, list[Need]]:
    """What every area needs, by species; areas in the order of planting, then of their names."""
    loose = seed_rates[seed_rates["bag"].isna()]
    by_weight = companions["basis"].eq("bulk_lb_ac")
    bags = bag_rates.drop_duplicates("area")
    parts = [
        loose[["area", "species"]].assign(role="seed", lb=loose["pls_lb"], pure=True),
        companions[["area", "species", "role"]].assign(
            lb=companions["bulk_lb"].where(by_weight, companions["pls_lb"]), pure=~by_weight
        ),
        bags[["area"]].assign(species=bags["bag"], role="bag", lb=bags["bulk_lb"], pure=False),
    ]
    needs: dict[str, list[Need]] = {}
    if not any(map(len, parts)):
        return needs
    rows = pd.concat([part for part in parts if len(part)])
    days = seedings.drop_duplicates("area").set_index("area")["planting"]
    rows = rows.assign(planting=rows["area"].map(days))[rows["lb"].ne(0)]
    rows = rows.assign(day=rows["planting"].fillna(LAST_DAY))
    rows = rows.sort_values(["day", "area", "role"], kind="stable")
    for row in rows.itertuples(index=False):
        need = Need(row.area, row.role, row.lb, row.pure, row.planting)
        needs.setdefault(row.species, []).append(need)
    return dict(sorted(needs.items()))
