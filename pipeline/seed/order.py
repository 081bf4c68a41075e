"""The order: what each lot gives, what must be bought, in whole packs, and what it costs."""

import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.species_names import species_value
from pipeline.core.units import SQFT_PER_AC
from pipeline.seed.order_layers import HELD, SEED_NEEDS, SEED_ORDER, SEED_SHED
from pipeline.seed.packs import order_lb, order_pack_lb, whole_packs_lb
from pipeline.seed.quantities import known_quotient, known_sums, usd_per_thousand_seeds
from pipeline.seed.settings import SeedSettings
from pipeline.seed.uncertainty import order_ranges

LINE = ["species", "lot", "role"]
"""What tells the lines of the order apart."""


RANGES = ("low_pls_needed_lb", "high_pls_needed_lb", "low_bulk_needed_lb", "high_bulk_needed_lb")


AMOUNTS = ("pls_lb", "bulk_lb")


def list_order(
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    lot_quality: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    species: pd.DataFrame,
    seedings: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """Table ``seed_order``: one line for each lot, and for what is bought from no known lot.

    Nurse crops, carriers and pre-mixed bags are lines like any other; where they go by weight
    their pure live seed is empty.
    """
    if seed_use.empty:
        return empty(SEED_ORDER)
    bought = seed_use["stock"].ne(HELD)
    use = seed_use.assign(
        bought=bought.astype("int64"),
        bought_bulk_lb=seed_use["bulk_lb"].where(bought, 0.0),
        pls_to_buy_lb=seed_use["pls_lb"].where(bought, 0.0 * seed_use["pls_lb"]),
    )
    amounts = ["pls_lb", "bulk_lb", "bought", "bought_bulk_lb", "pls_to_buy_lb"]
    lines = known_sums(use, LINE, amounts).reset_index().astype({"lot": object})
    lots = lot_quality.drop(columns="pls_pct")
    lines = lines.merge(use.drop_duplicates(LINE)[[*LINE, "pls_pct"]], on=LINE)
    lines = lines.merge(lots, on=["species", "lot"], how="left")
    lines = _priced(lines, lots)
    pack = _packs_lb(lines, settings)
    order = order_lb(lines["bought_bulk_lb"], pack, lines["offered_bulk_lb"])
    pls = (order * lines["pls_pct"] / 100).where(order.notna(), lines["pls_lb"])
    pls = pls.where(lines["pls_lb"].notna() | lines["role"].eq("seed"))
    cost = (pls * lines["price_usd_per_pls_lb"]).fillna(order * lines["price_usd_per_bulk_lb"])
    is_bought = lines["bought"] > 0
    lines = lines.assign(
        common_name=lines["species"].map(_common_names(seed_rates)),
        pls_needed_lb=lines["pls_lb"],
        bulk_needed_lb=lines["bulk_lb"],
        bulk_on_hand_lb=lines["on_hand_bulk_lb"].where(lines["lot"].notna(), 0.0),
        bulk_to_order_lb=order,
        excess_bulk_lb=order - lines["bought_bulk_lb"],
        pack_lb=pack.where(is_bought),
        packs=(whole_packs_lb(order, pack) / pack).where(is_bought),
        pls_to_order_lb=pls,
        cost_usd=cost.where(is_bought, 0.0),
    )
    ranges = known_sums(order_ranges(seed_use, seed_rates, lot_quality), LINE, list(RANGES))
    lines = lines.merge(ranges.reset_index(), on=LINE)
    confidence = seed_rates.groupby("species")["confidence"].agg(_all_told)
    lines["confidence"] = lines["species"].map(confidence).where(lines["role"].eq("seed"))
    asked = asked_of_dealers(lines, seed_use, mix_sheet, species, seedings, settings)
    return lines.join(asked)[SEED_ORDER.column_names]


def asked_of_dealers(
    lines: pd.DataFrame,
    seed_use: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    species: pd.DataFrame,
    seedings: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """What is asked of each line of the order, in the order of the lines.

    Where several mixes ask for different varieties or origins, all of them are told.
    """
    wanted = mix_sheet.groupby(["species", "role"])[["variety", "origin"]].agg(_all_told)
    asked = wanted.reindex(pd.MultiIndex.from_frame(lines[["species", "role"]])).astype(object)
    group = species_value(lines["species"], species, "seed_group").astype(object)
    legume = group.str.casefold().eq("legume").astype("boolean")
    is_seed = lines["role"].eq("seed")
    days = seed_use.merge(seedings.drop_duplicates("area")[["area", "planting"]], on="area")
    bought = days[days["stock"].ne(HELD)]
    first = bought.groupby(LINE, dropna=False)["planting"].min()
    first = first.reindex(pd.MultiIndex.from_frame(lines[LINE])).astype("datetime64[s]")
    return pd.DataFrame(
        {
            "wanted_variety": asked["variety"].to_numpy(),
            "wanted_origin": asked["origin"].to_numpy(),
            "inoculant": legume.where(group.notna() & is_seed).to_numpy(),
            "need_by": first.to_numpy() - pd.Timedelta(days=settings.order_lead_days),
        },
        index=lines.index,
    )


def _all_told(texts: pd.Series) -> str | None:
    """Every text that is told, each once."""
    return "; ".join(sorted(set(texts.dropna()))) or None


def _priced(lines: pd.DataFrame, lots: pd.DataFrame) -> pd.DataFrame:
    """The lines with their prices; what is bought from no known lot has the dearest lot's."""
    of_species = lots.groupby("species")
    prices = {
        name: lines[name].where(lines["lot"].notna(), lines["species"].map(of_species[name].max()))
        for name in ("price_usd_per_pls_lb", "price_usd_per_bulk_lb")
    }
    return lines.assign(**prices)


def _packs_lb(lines: pd.DataFrame, settings: SeedSettings) -> pd.Series:
    """Bulk [lb] of the pack of each line: the lot's own, else the usual one of its kind."""
    is_companion = lines["role"].isin(["nurse", "carrier"])
    own = lines["pack_lb"].where(lines["pack_lb"] > 0)
    own = own.where(own.notna() | ~is_companion, settings.companion_pack_lb)
    return order_pack_lb(lines["bought_bulk_lb"], own, settings)


def _common_names(seed_rates: pd.DataFrame) -> pd.Series:
    """Common name of each species that is sown."""
    return seed_rates.drop_duplicates("species").set_index("species")["common_name"]


def list_shed(lot_quality: pd.DataFrame, seed_use: pd.DataFrame) -> pd.DataFrame:
    """Table ``seed_shed``: what is held of each lot, what is taken of it and what is left."""
    held = lot_quality[lot_quality["on_hand_bulk_lb"].gt(0)]
    taken = seed_use[seed_use["stock"].eq(HELD)].groupby("lot")["bulk_lb"].sum()
    used = taken.reindex(held["lot"], fill_value=0.0).to_numpy()
    left = (held["on_hand_bulk_lb"] - used).clip(lower=0)
    shed = held.assign(
        used_bulk_lb=used, left_bulk_lb=left, left_pls_lb=left * held["pls_pct"] / 100
    )
    return shed[SEED_SHED.column_names]


def sum_needs(
    seed_rates: pd.DataFrame,
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
    use = priced_use(seed_use[seed_use["role"].eq("seed")], seed_order)
    cost = known_sums(use, "species", ["cost_usd"])["cost_usd"].reindex(of, fill_value=0.0)
    price = known_quotient(cost, needs["pls_lb"])
    seeds = (loose["seeds_sqft"] * loose["net_ac"] * SQFT_PER_AC).groupby(loose["species"])
    seeds_per_lb = known_quotient(seeds.sum(skipna=False), needs["pls_lb"])
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
            "cost_usd_per_thousand_seeds": usd_per_thousand_seeds(price, seeds_per_lb),
            "lots": use.groupby("species")["lot"].nunique().reindex(of, fill_value=0),
        }
    ).reset_index()


def priced_use(seed_use: pd.DataFrame, seed_order: pd.DataFrame) -> pd.DataFrame:
    """Rows of ``seed_use`` with what they cost [$] at the price of the order."""
    prices = ["price_usd_per_pls_lb", "price_usd_per_bulk_lb"]
    use = seed_use.merge(seed_order[[*LINE, *prices]], on=LINE)
    by_pls, by_bulk = (
        use[amount] * use[price] for amount, price in zip(AMOUNTS, prices, strict=True)
    )
    return use.assign(cost_usd=by_pls.fillna(by_bulk))
