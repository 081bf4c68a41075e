"""Drill and spreader sheets: what goes in which box, and what it should drop."""

from decimal import Decimal

import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.decimals import UNKNOWN, decimal_of, decimals, floats, quotient, sums_by, total
from pipeline.seed.order_layers import SEED_BOXES
from pipeline.seed.quantities import catch_g, drill_width_ft, row_ft_sqft, seeds_row_ft
from pipeline.seed.settings import SeedSettings

BOX_BY_ROLE = {"nurse": "large", "carrier": "chaffy"}
"""Box of a nurse crop or carrier that names none. Common practice, no source."""


SPREADER, NO_BOX = "spreader", "unknown"


def fill_boxes(
    seed_areas: pd.DataFrame,
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    seed_companions: pd.DataFrame,
    bag_rates: pd.DataFrame,
    settings: SeedSettings,
) -> pd.DataFrame:
    """Table ``seed_boxes``: bulk and carrier per acre of each box or spreader, and its catch."""
    seed = _seed_rows(seed_areas, seed_rates, seed_use, mix_sheet, bag_rates)
    companions = _companion_rows(seed_areas, seed_companions)
    together = pd.concat([frame for frame in (seed, companions) if len(frame)] or [seed])
    if together.empty:
        return empty(SEED_BOXES)
    acres = dict(zip(seed_areas["area"], decimals(seed_areas["net_ac"]), strict=True))
    return pd.DataFrame(
        [
            {"area": area, "box": box}
            | _box_line(rows, acres[area], settings, drill=box != SPREADER)
            for (area, box), rows in together.groupby(["area", "box"])
        ]
    )


def _seed_rows(
    seed_areas: pd.DataFrame,
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    mix_sheet: pd.DataFrame,
    bag_rates: pd.DataFrame,
) -> pd.DataFrame:
    """Bulk and live seeds of each species or bag on each area, with the box it runs from."""
    boxes = mix_sheet.loc[mix_sheet["role"].eq("seed"), ["mix", "species", "box"]]
    pairs = seed_use.groupby(["area", "species"], sort=False)
    bulk = seed_use[["area", "species"]].drop_duplicates()
    bulk["bulk_lb"] = floats(
        sums_by(pairs.ngroup().to_numpy(), decimals(seed_use["bulk_lb"]), len(bulk))
    )
    loose = seed_rates[seed_rates["bag"].isna()].merge(boxes, on=["mix", "species"])
    loose = loose.merge(bulk, on=["area", "species"], how="left")
    limiting = bag_rates.drop_duplicates(["area", "bag"])[["area", "bag", "bulk_lb"]]
    seeds = seed_areas[["area", "seeds_sqft"]]
    bags = limiting.merge(seeds, on="area").assign(box=NO_BOX, species=limiting["bag"].array)
    columns = ["area", "species", "box", "bulk_lb", "seeds_sqft"]
    parts = [frame[columns] for frame in (loose, bags) if len(frame)]
    rows = pd.concat(parts) if parts else loose[columns]
    return _boxed(rows.assign(companion=False), seed_areas)


def _companion_rows(seed_areas: pd.DataFrame, seed_companions: pd.DataFrame) -> pd.DataFrame:
    """Pounds of each nurse crop and carrier on each area, with the box it runs from."""
    usual = seed_companions["role"].map(BOX_BY_ROLE)
    rows = seed_companions[["area", "species", "bulk_lb"]].assign(
        box=seed_companions["box"].fillna(usual), seeds_sqft=0.0, companion=True
    )
    return _boxed(rows, seed_areas)


def _boxed(rows: pd.DataFrame, seed_areas: pd.DataFrame) -> pd.DataFrame:
    """Rows with the box: the spreader where nothing is drilled, ``unknown`` where none is told."""
    drilled = set(seed_areas.loc[seed_areas["method"].eq("drill"), "area"])
    box = rows["box"].fillna(NO_BOX).where(rows["area"].isin(drilled), SPREADER)
    return rows.assign(box=box)


def _box_line(
    rows: pd.DataFrame, net_ac: Decimal, settings: SeedSettings, *, drill: bool
) -> dict[str, object]:
    """Figures of one box on one area; those of the drill's rows are empty for a spreader."""
    pounds = decimals(rows["bulk_lb"])
    companion = rows["companion"].to_numpy(dtype=bool)
    seed_lb, companion_lb = total(pounds[~companion]), total(pounds[companion])
    setting = quotient(seed_lb + companion_lb, net_ac)
    spacing = decimal_of(settings.row_spacing_in) if drill else UNKNOWN
    distance = decimal_of(settings.catch_distance_ft) if drill else UNKNOWN
    width = drill_width_ft(Decimal(settings.drill_rows), spacing)
    return {
        "contents": ", ".join(sorted(rows["species"])),
        "seed_bulk_lb_ac": float(quotient(seed_lb, net_ac)),
        "companion_lb_ac": float(quotient(companion_lb, net_ac)),
        "setting_lb_ac": float(setting),
        "fill_lb": float(seed_lb + companion_lb),
        "row_spacing_in": float(spacing),
        "row_ft_sqft": float(row_ft_sqft(spacing)),
        "seeds_row_ft": float(seeds_row_ft(total(decimals(rows["seeds_sqft"])), spacing)),
        "catch_distance_ft": float(distance),
        "catch_g": float(catch_g(setting, width, distance)),
    }
