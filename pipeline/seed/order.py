"""The order: what each lot gives, what must be bought, in whole packs, and what it costs."""

import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.units import OZ_PER_LB
from pipeline.seed.order_layers import HELD, SEED_NEEDS, SEED_ORDER
from pipeline.seed.quantities import known_quotient, known_sums, usd_per_thousand_seeds
from pipeline.seed.settings import SeedSettings

PACK_TOLERANCE = 1e-10
"""A need above whole packs by no more than this share of it is those packs, not one more.

Sums of thousands of binary numbers are off by less than a hundredth of it, and 50,000 lb by 5
millionths of a pound.
"""


def order_pack_lb(bulk_lb: pd.Series, lot_pack_lb: pd.Series, settings: SeedSettings) -> pd.Series:
    """Bulk [lb] that an order is rounded up to: the lot's own pack, else a pound or an ounce."""
    usual = np.where(bulk_lb < 1, settings.small_pack_oz / OZ_PER_LB, settings.pack_lb)
    return lot_pack_lb.where(lot_pack_lb > 0, usual)


def order_lb(bulk_lb: pd.Series, pack_lb: pd.Series, offered_lb: pd.Series) -> pd.Series:
    """Bulk [lb] to order: whole packs that hold the need, and no more than is on offer.

    A need that is unknown stays so.
    """
    packs = bulk_lb / pack_lb
    whole = np.ceil(packs - PACK_TOLERANCE * packs.clip(lower=1)).abs()  # none is 0, not −0
    order = whole * pack_lb
    return order.where(~(order > offered_lb), offered_lb)


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
    parts = [
        _seed_lines(seed_rates, seed_use, lot_quality, settings),
        _weight_lines(seed_companions, bag_rates, settings),
    ]
    present = [part for part in parts if len(part)]
    return pd.concat(present, ignore_index=True) if present else empty(SEED_ORDER)


def _seed_lines(
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    lot_quality: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """What is drawn from each lot, and what of it is bought; without a lot, all of it."""
    bought = seed_use["stock"].ne(HELD)
    use = seed_use.assign(
        bought=bought.astype("int64"),
        bought_bulk_lb=seed_use["bulk_lb"].where(bought, 0.0),
    )
    keys = ["species", "lot"]
    amounts = ["pls_lb", "bulk_lb", "bought", "bought_bulk_lb"]
    lines = known_sums(use, keys, amounts).reset_index().astype({"lot": object})
    quality = use.drop_duplicates(keys)[[*keys, "pls_pct"]]
    lots = lot_quality.drop(columns="pls_pct")
    lines = lines.merge(quality, on=keys).merge(lots, on=keys, how="left")
    dearest = lines["species"].map(lots.groupby("species")["price_usd_per_pls_lb"].max())
    price = lines["price_usd_per_pls_lb"].where(lines["lot"].notna(), dearest)
    pack = order_pack_lb(lines["bought_bulk_lb"], lines["pack_lb"], settings)
    order = order_lb(lines["bought_bulk_lb"], pack, lines["offered_bulk_lb"])
    pls = (order * lines["pls_pct"] / 100).where(order.notna(), lines["pls_lb"])
    is_bought = lines["bought"] > 0
    lines = lines.assign(
        common_name=lines["species"].map(_common_names(seed_rates)),
        role="seed",
        pls_needed_lb=lines["pls_lb"],
        bulk_needed_lb=lines["bulk_lb"],
        bulk_on_hand_lb=lines["on_hand_bulk_lb"].where(lines["lot"].notna(), 0.0),
        bulk_to_order_lb=order,
        excess_bulk_lb=order - lines["bought_bulk_lb"],
        pack_lb=pack.where(is_bought),
        pls_to_order_lb=pls,
        price_usd_per_pls_lb=price,
        cost_usd=(pls * price).where(is_bought, 0.0),
    )
    return lines[SEED_ORDER.column_names]


def _weight_lines(
    seed_companions: pd.DataFrame, bag_rates: pd.DataFrame, settings: SeedSettings
) -> pd.DataFrame:
    """Nurse crops, carriers and pre-mixed bags: by weight, without a lot or a price."""
    bags = bag_rates.drop_duplicates(["area", "bag"])[["bag", "bulk_lb"]]
    weighed = pd.concat(
        [
            seed_companions[["species", "role", "bulk_lb"]],
            bags.rename(columns={"bag": "species"}).assign(role="bag"),
        ]
    )
    needed = known_sums(weighed, ["species", "role"], ["bulk_lb"]).reset_index()
    none = pd.Series(np.nan, index=needed.index)
    pack = order_pack_lb(needed["bulk_lb"], none, settings)
    order = order_lb(needed["bulk_lb"], pack, none)
    lines = needed.assign(
        bulk_needed_lb=needed["bulk_lb"],
        bulk_on_hand_lb=0.0,
        bulk_to_order_lb=order,
        excess_bulk_lb=order - needed["bulk_lb"],
        pack_lb=pack,
    )
    return empty(SEED_ORDER).reindex(lines.index).assign(**lines.drop(columns="bulk_lb"))


def _common_names(seed_rates: pd.DataFrame) -> pd.Series:
    """Common name of each species that is sown."""
    return seed_rates.drop_duplicates("species").set_index("species")["common_name"]


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
    needs = known_sums(loose, "species", ["pls_lb", "net_ac"])
    if needs.empty:
        return empty(SEED_NEEDS)
    of = needs.index
    on_hand_lb = lot_quality.groupby("species")["on_hand_pls_lb"].sum().reindex(of, fill_value=0.0)
    seed = seed_order[seed_order["role"].eq("seed")]
    to_order = known_sums(seed, "species", ["pls_to_order_lb"])["pls_to_order_lb"]
    use = priced_use(seed_use, seed_order)
    cost = known_sums(use, "species", ["cost_usd"])["cost_usd"].reindex(of, fill_value=0.0)
    price = known_quotient(cost, needs["pls_lb"])
    lines = mix_sheet[mix_sheet["role"].eq("seed")]
    lines = lines.drop_duplicates("species", keep="last").set_index("species")
    return pd.DataFrame(
        {
            "common_name": _common_names(loose).reindex(of),
            "pls_needed_lb": needs["pls_lb"],
            "pls_held_lb": on_hand_lb,
            "pls_short_lb": (needs["pls_lb"] - on_hand_lb).clip(lower=0),
            "pls_to_order_lb": to_order.reindex(of, fill_value=0.0),
            "sown_ac": needs["net_ac"],
            "seed_cost_usd": cost,
            "cost_usd_per_pls_lb": price,
            "cost_usd_ac": known_quotient(cost, needs["net_ac"]),
            "cost_usd_per_thousand_seeds": usd_per_thousand_seeds(
                price, lines["seeds_per_lb"].reindex(of)
            ),
            "lots": use.groupby("species")["lot"].nunique().reindex(of, fill_value=0),
        }
    ).reset_index()


def priced_use(seed_use: pd.DataFrame, seed_order: pd.DataFrame) -> pd.DataFrame:
    """Rows of ``seed_use`` with what their seed costs [$] at the price of the order."""
    keys = ["species", "lot"]
    prices = seed_order.loc[seed_order["role"].eq("seed"), [*keys, "price_usd_per_pls_lb"]]
    use = seed_use.merge(prices, on=keys)
    return use.assign(cost_usd=use["pls_lb"] * use["price_usd_per_pls_lb"])
