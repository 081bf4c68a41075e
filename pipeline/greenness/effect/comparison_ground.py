"""The ground of a comparison: its burned units, its references, and the unburned units beside them.

The references that the comparison names set the mean; all unburned units of the property that were
handled like the burned ones tell how much units differ without a fire.
"""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.greenness.effect.carry_over import Readings
from pipeline.greenness.effect.like_handled import cover_codes, handling_codes, unlike_reasons
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import (
    EarlierPictures,
    earlier_pictures,
    of_one_kind,
    shared_years,
)
from pipeline.log.treatment_log import YEAR, burns_of, within

FIGURES = ["unit_id", "role", "before_mean", "after_mean", "pixel_variance", "usable"]


@dataclass(frozen=True, slots=True)
class Ground:
    """Units of one comparison, in the order of ``units``: the named ones first, then the others.

    ``units`` has ``unit_id``, ``role`` (burned, reference, other), the two means, the variance from
    pixels and whether a unit is ``usable`` as a reference. ``handling`` and ``cover`` are numbers
    of each way, ``size`` is in square meters and ``at`` a point in meters.
    """

    units: pd.DataFrame
    pictures: EarlierPictures
    handling: np.ndarray
    cover: np.ndarray
    size: np.ndarray
    at: np.ndarray


@dataclass(frozen=True, slots=True)
class Panel:
    """What one or several units (``burned``, their numbers) are held against.

    ``references`` set the mean, ``alike`` the spread; ``before`` has a year a column, newest first.
    ``why`` tells what a named reference differs in, ``unlike`` that too few were handled alike:
    then all are used, for the figures alone.
    """

    burned: np.ndarray
    references: np.ndarray
    alike: np.ndarray
    before: np.ndarray
    years: tuple[int, ...]
    why: dict[int, str]
    unlike: tuple[str, ...]


def comparison_ground(
    rows: pd.DataFrame,
    units: gpd.GeoDataFrame,
    chosen_comparisons: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> Ground:
    """Ground of a comparison; ``rows`` are its units with their changes and disturbances."""
    named = rows.assign(
        pixel_variance=rows["change_sd"] ** 2 / rows["effective_pixels"].where(lambda n: n > 0),
        usable=rows["reason"].isna() & ~(rows["valid_pct"] < settings.sure_valid_pct),
    )
    others = _others(rows, chosen_comparisons, zone_scenes, treatment_log, settings)
    table = pd.concat([named[FIGURES], others[FIGURES]], ignore_index=True)
    table = table.astype({"pixel_variance": float, "usable": bool})
    drawn = units.set_index("unit_id").loc[table["unit_id"]]
    before, after = rows["before"].iloc[0], rows["after"].iloc[0]
    ids, center = table["unit_id"], drawn.geometry.centroid
    return Ground(
        units=table,
        pictures=earlier_pictures(before, ids, zone_scenes, treatment_log, settings),
        handling=handling_codes(ids, before, after, treatment_log),
        cover=cover_codes(drawn["cover"]),
        size=drawn.geometry.area.to_numpy(),
        at=np.column_stack([center.x, center.y]),
    )


def _others(
    rows: pd.DataFrame,
    chosen_comparisons: pd.DataFrame,
    zone_scenes: pd.DataFrame,
    treatment_log: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Units that the comparison does not name, seen on both dates and not burned."""
    row = rows.iloc[0]
    since = row["before"] - YEAR
    burns = within(burns_of(treatment_log), since, rows[["after", "after_last_day"]].max(axis=None))
    meant = chosen_comparisons[chosen_comparisons["role"] == "burned"]
    meant = meant[(meant["before"] < row["after"]) & (meant["after"] > since)]
    usable = of_one_kind(zone_scenes[zone_scenes["reason"].isna()])
    usable = usable[~(usable["valid_pct"] < settings.sure_valid_pct)]
    taken = {*rows["unit_id"], *burns["unit_id"], *meant["unit_id"]}
    usable = usable[~usable["unit_id"].isin(taken)].drop_duplicates(["unit_id", "date"])
    sides = [
        usable.loc[usable["date"] == row[side]].set_index("unit_id")["mean"].rename(f"{side}_mean")
        for side in ("before", "after")
    ]
    both = pd.concat(sides, axis=1, join="inner").dropna().rename_axis("unit_id").reset_index()
    return both.assign(role="other", pixel_variance=np.nan, usable=True)


def panel_of(ground: Ground, burned: np.ndarray, least_references: int) -> Panel:
    """What the units of some numbers are held against."""
    units, count = ground.units, len(ground.units)
    own = np.isin(np.arange(count), burned)
    usable = units["usable"].to_numpy() & ~own & (units["role"] != "burned").to_numpy()
    named = (units["role"] == "reference").to_numpy()
    unlike = unlike_reasons(burned, ground.handling, ground.cover)
    like = usable & pd.isna(unlike)
    told = dict.fromkeys(np.flatnonzero(named & ~own & ~usable).tolist(), "unusable")
    told |= {int(k): str(unlike[k]) for k in np.flatnonzero(named & usable & ~like)}
    references, alike, too_few = named & like, like, (named & like).sum() < least_references
    if too_few:
        references = alike = named & usable
    in_the_way = tuple(sorted(set(unlike[named & usable & ~like]))) if too_few else ()
    shared = shared_years(ground.pictures, own, references)
    dropped = references & ~shared.references
    told |= dict.fromkeys(np.flatnonzero(dropped).tolist(), "lacking_years")
    alike = alike & ~dropped & np.isfinite(shared.ndvi).all(axis=1)
    start = units["before_mean"].to_numpy(dtype=float)[:, None]
    before = np.hstack([start, shared.ndvi])
    return Panel(burned, shared.references, alike, before, shared.years, told, in_the_way)


def readings_of(ground: Ground, panels: list[Panel]) -> tuple[Readings, Readings]:
    """Readings of the burned units of each panel, and of all units; panels of as many years."""
    after = ground.units["after_mean"].to_numpy(dtype=float)
    variance = ground.units["pixel_variance"].to_numpy(dtype=float)
    before = np.stack([panel.before for panel in panels])
    burned = np.stack([panel.burned for panel in panels])
    of_burned = np.take_along_axis(before, burned[..., None], axis=1)
    return (
        Readings(of_burned, after[burned], variance[burned]),
        Readings(before, np.broadcast_to(after, before.shape[:2]), variance),
    )
