"""The order: what each lot gives, what must be bought, in whole packs, and what it costs."""

from decimal import Decimal
from typing import Any

import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.decimals import (
    HUNDRED,
    ONE,
    UNKNOWN,
    ZERO,
    decimal_of,
    decimals,
    exceeds,
    quotient,
    rounded_up,
    total,
)
from pipeline.seed.order_layers import SEED_NEEDS, SEED_ORDER, TO_ORDER
from pipeline.seed.quantities import OZ_PER_LB, usd_per_thousand_seeds
from pipeline.seed.settings import SeedSettings

SMALLEST_LB = Decimal("1e-9")


def order_pack_lb(bulk_lb: Decimal, lot_pack_lb: Decimal, settings: SeedSettings) -> Decimal:
    """Bulk [lb] that an order is rounded up to: the lot's own pack, else a pound or an ounce."""
    if not lot_pack_lb.is_nan() and lot_pack_lb > 0:
        return lot_pack_lb
    if not bulk_lb.is_nan() and bulk_lb < ONE:
        return decimal_of(settings.small_pack_oz) / OZ_PER_LB
    return decimal_of(settings.pack_lb)


def order_lb(bulk_lb: Decimal, pack_lb: Decimal, offered_lb: Decimal) -> Decimal:
    """Bulk [lb] to order: whole packs that hold the need, and no more than is on offer.

    Less than a billionth of a pound is the trace of the binary numbers of a frame, not seed.
    """
    if bulk_lb.is_nan():
        return bulk_lb
    order = rounded_up(bulk_lb.quantize(SMALLEST_LB), pack_lb)
    return offered_lb if exceeds(order, offered_lb) else order


def list_order(
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    lot_quality: pd.DataFrame,
    seed_companions: pd.DataFrame,
    bag_rates: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """Table ``seed_order``: one line for each lot, and for seed to be bought from no known lot.

    Nurse crops, carriers and pre-mixed bags follow by weight.
    """
    common = dict(zip(seed_rates["species"], seed_rates["common_name"], strict=True))
    lots = {lot["lot"]: lot for lot in lot_quality.to_dict("records")}
    prices = lot_quality.groupby("species")["price_usd_per_pls_lb"].max().to_dict()
    rows = []
    for (species, name), used in seed_use.groupby(["species", "lot"]):
        unknown = {"price_usd_per_pls_lb": prices.get(species), "on_hand_bulk_lb": 0.0}
        line = _lot_line(used, lots.get(name, unknown), settings)
        rows.append({"species": species, "lot": name, "common_name": common[species]} | line)
    for (name, role), group in seed_companions.groupby(["species", "role"]):
        rows.append(_weight_line(name, role, group["bulk_lb"], settings))
    for bag, group in bag_rates.drop_duplicates(["area", "bag"]).groupby("bag"):
        rows.append(_weight_line(bag, "bag", group["bulk_lb"], settings))
    return pd.DataFrame(rows) if rows else empty(SEED_ORDER)


def _lot_line(used: pd.DataFrame, lot: dict[str, Any], settings: SeedSettings) -> dict[str, object]:
    """What is drawn from one lot, or bought from none in particular."""
    buying = used[used["stock"].ne("held")]
    fraction = decimal_of(used["pls_pct"].iloc[0]) / HUNDRED
    to_buy = total(decimals(buying["bulk_lb"]))
    pack = order_pack_lb(to_buy, decimal_of(lot.get("pack_lb")), settings)
    order = order_lb(to_buy, pack, decimal_of(lot.get("offered_bulk_lb")))
    pls = total(decimals(buying["pls_lb"])) if order.is_nan() else order * fraction
    price = decimal_of(lot["price_usd_per_pls_lb"])
    return {
        "role": "seed",
        "pls_pct": float(fraction * HUNDRED),
        "pls_needed_lb": float(total(decimals(used["pls_lb"]))),
        "bulk_needed_lb": float(total(decimals(used["bulk_lb"]))),
        "bulk_on_hand_lb": lot["on_hand_bulk_lb"],
        "bulk_to_order_lb": float(order),
        "excess_bulk_lb": float(order - to_buy),
        "pack_lb": float("nan" if buying.empty else pack),
        "pls_to_order_lb": float(pls),
        "price_usd": float(price),
        "cost_usd": 0.0 if buying.empty else float(pls * price),
        "origin": lot.get("origin"),
        "tested": lot.get("tested", pd.NaT),
    }


def _weight_line(
    name: str, role: str, pounds: pd.Series, settings: SeedSettings
) -> dict[str, object]:
    """A nurse crop, carrier or pre-mixed bag: by weight, without a lot."""
    needed = total(decimals(pounds))
    pack = order_pack_lb(needed, decimal_of(None), settings)
    order = order_lb(needed, pack, UNKNOWN)
    unknown = float("nan")
    return {
        "species": name,
        "lot": TO_ORDER,
        "common_name": None,
        "role": role,
        "pls_pct": unknown,
        "pls_needed_lb": unknown,
        "bulk_needed_lb": float(needed),
        "bulk_on_hand_lb": 0.0,
        "bulk_to_order_lb": float(order),
        "excess_bulk_lb": float(order - needed),
        "pack_lb": float(pack),
        "pls_to_order_lb": unknown,
        "price_usd": unknown,
        "cost_usd": unknown,
        "origin": None,
        "tested": pd.NaT,
    }


def sum_needs(
    seed_rates: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    lot_quality: pd.DataFrame,
    seed_use: pd.DataFrame,
    seed_order: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``seed_needs``: needed, held, short and to order of each species, with its price.

    Seed of pre-mixed bags is not counted here: it is bought by the bag.
    """
    loose = seed_rates[seed_rates["bag"].isna()]
    lines = mix_sheet[mix_sheet["role"].eq("seed")]
    counts = dict(zip(lines["species"], decimals(lines["seeds_per_lb"]), strict=True))
    seed = seed_order[seed_order["role"].eq("seed")]
    priced = seed_use.merge(seed[["species", "lot", "price_usd"]], on=["species", "lot"])
    uses = dict(iter(priced.groupby("species")))
    held = lot_quality.groupby("species")["on_hand_pls_lb"].agg(list).to_dict()
    orders = seed.groupby("species")["pls_to_order_lb"].agg(list).to_dict()
    rows = []
    for species, rates in loose.groupby("species"):
        needed = total(decimals(rates["pls_lb"]))
        in_shed = total(v for v in decimals(held.get(species, [])) if not v.is_nan())
        short = needed if needed.is_nan() else max(needed - in_shed, ZERO)
        line = {
            "species": species,
            "common_name": rates["common_name"].iloc[0],
            "pls_needed_lb": float(needed),
            "pls_held_lb": float(in_shed),
            "pls_short_lb": float(short),
            "pls_to_order_lb": float(total(decimals(orders.get(species, [])))),
        }
        used = uses.get(species, priced.iloc[:0])
        acres = total(decimals(rates["net_ac"]))
        rows.append(line | _prices(used, needed, acres, counts[species]))
    return pd.DataFrame(rows) if rows else empty(SEED_NEEDS)


def _prices(
    used: pd.DataFrame, needed: Decimal, acres: Decimal, seeds_per_lb: Decimal
) -> dict[str, float]:
    """What the seed of one species costs in all, by the pound, the acre and the thousand seeds."""
    cost = total(decimals(used["pls_lb"]) * decimals(used["price_usd"]))
    each = quotient(cost, needed)
    return {
        "sown_ac": float(acres),
        "seed_cost_usd": float(cost),
        "cost_usd_per_pls_lb": float(each),
        "cost_usd_ac": float(quotient(cost, acres)),
        "cost_usd_per_thousand_seeds": float(usd_per_thousand_seeds(each, seeds_per_lb)),
        "lots": used["lot"].nunique(),
    }
