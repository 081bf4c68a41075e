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
from pipeline.greenness.effect.other_causes import Places
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.years_before import (
    EarlierPictures,
    earlier_pictures,
    of_one_kind,
    shared_years,
)
from pipeline.log.treatment_log import YEAR, burns_of, within


@dataclass(frozen=True, slots=True)
class Ground:
    """Units of one comparison by number: the named ones in their order, then the others.

    ``burned`` and ``named`` mark the burned units and the references, ``usable`` those that may be
    held against. ``readings`` have the year before alone, ``pictures`` those of earlier years.
    ``handling`` and ``cover`` are numbers of each way.
    """

    unit_ids: np.ndarray
    burned: np.ndarray
    named: np.ndarray
    usable: np.ndarray
    readings: Readings
    pictures: EarlierPictures
    handling: np.ndarray
    cover: np.ndarray
    places: Places


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
    others = _others(rows, chosen_comparisons, zone_scenes, treatment_log, settings)
    ids = pd.concat([rows["unit_id"], others["unit_id"]], ignore_index=True)
    drawn = units.set_index("unit_id").loc[ids]
    before, after = rows["before"].iloc[0], rows["after"].iloc[0]
    usable = rows["reason"].isna() & ~(rows["valid_pct"] < settings.sure_valid_pct)
    noise = rows["change_sd"] ** 2 / rows["effective_pixels"].where(lambda pixels: pixels > 0)
    center = drawn.geometry.centroid

    def figures(of_rows: pd.Series, of_others: object) -> np.ndarray:
        known = np.broadcast_to(np.asarray(of_others), len(others))
        return np.concatenate([of_rows.to_numpy(dtype=known.dtype), known])

    return Ground(
        unit_ids=ids.to_numpy(dtype=object),
        burned=figures(rows["role"] == "burned", of_others=False),
        named=figures(rows["role"] == "reference", of_others=False),
        usable=figures(usable, of_others=True),
        readings=Readings(
            figures(rows["before_mean"], others["before_mean"])[:, None],
            figures(rows["after_mean"], others["after_mean"]),
            figures(noise, np.nan),
        ),
        pictures=earlier_pictures(before, ids, zone_scenes, treatment_log, settings),
        handling=handling_codes(ids, before, after, treatment_log),
        cover=cover_codes(drawn["cover"]),
        places=Places(drawn.geometry.area.to_numpy(), np.column_stack([center.x, center.y])),
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
    both = pd.concat(sides, axis=1, join="inner").dropna()
    return both.rename_axis("unit_id").reset_index()


def panel_of(ground: Ground, burned: np.ndarray, least_references: int) -> Panel:
    """What the units of some numbers are held against."""
    own, named = np.zeros(len(ground.unit_ids), dtype=bool), ground.named
    own[burned] = True
    usable = ground.usable & ~own & ~ground.burned
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
    before = np.hstack([ground.readings.before, shared.ndvi])
    return Panel(burned, shared.references, alike, before, shared.years, told, in_the_way)


def readings_of(ground: Ground, panels: list[Panel]) -> tuple[Readings, Readings]:
    """Readings of the burned units of each panel, and of all units; panels of as many years."""
    after, variance = ground.readings.after, ground.readings.pixel_variance
    before = np.stack([panel.before for panel in panels])
    burned = np.stack([panel.burned for panel in panels])
    of_burned = np.take_along_axis(before, burned[..., None], axis=1)
    return (
        Readings(of_burned, after[burned], variance[burned]),
        Readings(before, np.broadcast_to(after, before.shape[:2]), variance),
    )
