"""Sheets for drill and spreader: what goes into which box, and what it should drop."""

import numpy as np
import pandas as pd

from pipeline.core.layer import empty
from pipeline.seed.field_layers import SEED_BOXES
from pipeline.seed.packs import PACK_TOLERANCE
from pipeline.seed.quantities import (
    catch_g,
    drill_width_ft,
    known_quotient,
    known_sums,
    row_ft_sqft,
    seeds_row_ft,
)
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
    contents = pd.concat(
        [
            frame
            for frame in (
                _seed_in_boxes(seed_rates, seed_use, mix_sheet),
                _bags_in_boxes(seed_areas, bag_rates),
                _companions_in_boxes(seed_companions),
            )
            if len(frame)
        ]
        or [pd.DataFrame()]
    )
    if contents.empty:
        return empty(SEED_BOXES)
    drilled = seed_areas.loc[seed_areas["method"].eq("drill"), "area"]
    box = contents["box"].fillna(NO_BOX).where(contents["area"].isin(drilled), SPREADER)
    keys = ["area", "box"]
    groups = contents.assign(box=box)
    boxes = known_sums(groups, keys, ["seed_lb", "companion_lb", "seeds_sqft"])
    names = groups.groupby(keys)["species"].agg(lambda species: ", ".join(sorted(species)))
    boxes = boxes.assign(contents=names).reset_index()
    net_ac = boxes["area"].map(seed_areas.set_index("area")["net_ac"])
    return _calibrated(boxes, net_ac, settings)


def _seed_in_boxes(
    seed_rates: pd.DataFrame, seed_use: pd.DataFrame, mix_sheet: pd.DataFrame
) -> pd.DataFrame:
    """Bulk [lb] and live seeds of each loose species on each area, with its box."""
    seed = mix_sheet.loc[mix_sheet["role"].eq("seed"), ["mix", "species", "box"]]
    loose = seed_use[seed_use["role"].eq("seed")]
    bulk = known_sums(loose, ["area", "species"], ["bulk_lb"]).reset_index()
    rows = seed_rates[seed_rates["bag"].isna()].merge(seed, on=["mix", "species"])
    rows = rows.merge(bulk, on=["area", "species"], how="left")
    rows = rows[["area", "species", "box", "seeds_sqft", "bulk_lb"]]
    return rows.rename(columns={"bulk_lb": "seed_lb"}).assign(companion_lb=0.0)


def _bags_in_boxes(seed_areas: pd.DataFrame, bag_rates: pd.DataFrame) -> pd.DataFrame:
    """Bulk [lb] and live seeds of the pre-mixed bag on each area that is sown from one."""
    bags = bag_rates.drop_duplicates(["area", "bag"])[["area", "bag", "bulk_lb"]]
    rows = bags.merge(seed_areas[["area", "seeds_sqft"]], on="area")
    rows = rows.rename(columns={"bag": "species", "bulk_lb": "seed_lb"})
    return rows.assign(box=None, companion_lb=0.0)


def _companions_in_boxes(seed_companions: pd.DataFrame) -> pd.DataFrame:
    """Pounds of each nurse crop and carrier on each area, with its box or the usual one."""
    usual = seed_companions["role"].map(BOX_BY_ROLE)
    rows = seed_companions[["area", "species", "bulk_lb"]]
    rows = rows.rename(columns={"bulk_lb": "companion_lb"})
    return rows.assign(box=seed_companions["box"].fillna(usual), seed_lb=0.0, seeds_sqft=0.0)


def _calibrated(boxes: pd.DataFrame, net_ac: pd.Series, settings: SeedSettings) -> pd.DataFrame:
    """Boxes with their rates per acre; what is caught behind the drill is empty for a spreader."""
    fill_lb = boxes["seed_lb"] + boxes["companion_lb"]
    setting_lb_ac = known_quotient(fill_lb, net_ac)
    drilled = boxes["box"].ne(SPREADER).map({True: 1.0, False: float("nan")})
    spacing_in = settings.row_spacing_in * drilled
    distance_ft = settings.catch_distance_ft * drilled
    width_ft = drill_width_ft(settings.catch_rows, spacing_in)
    sizes_lb = {
        "large": settings.large_box_lb,
        "small": settings.small_box_lb,
        "chaffy": settings.chaffy_box_lb,
    }
    size_lb = boxes["box"].map(sizes_lb).astype("float64")
    return boxes[["area", "box", "contents"]].assign(
        fill_ac=known_quotient(size_lb, setting_lb_ac),
        fills=np.ceil(fill_lb / size_lb - PACK_TOLERANCE),
        seed_bulk_lb_ac=known_quotient(boxes["seed_lb"], net_ac),
        companion_lb_ac=known_quotient(boxes["companion_lb"], net_ac),
        setting_lb_ac=setting_lb_ac,
        fill_lb=fill_lb,
        row_spacing_in=spacing_in,
        row_ft_sqft=row_ft_sqft(spacing_in),
        seeds_row_ft=seeds_row_ft(boxes["seeds_sqft"], spacing_in),
        catch_rows=settings.catch_rows * drilled,
        catch_distance_ft=distance_ft,
        catch_g=catch_g(setting_lb_ac, width_ft, distance_ft),
    )
