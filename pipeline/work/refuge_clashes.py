"""Burns against what is to stay unburned: refuge for insects and nests, and reference units."""

from collections.abc import Iterator

import geopandas as gpd
import pandas as pd

from pipeline.core.names import listed
from pipeline.core.units import half_up
from pipeline.ground.overlays import united
from pipeline.season.settings import SeasonSettings
from pipeline.work.clashes import Clash
from pipeline.work.planned import WHOLE_SHARE


def wholly_burned(burns: pd.DataFrame, units: pd.DataFrame, season: int) -> pd.DataFrame:
    """Planned burns of the season that take all of their unit.

    Those of a block do; one of the log does where its acres are those of the unit. A burn without
    days is one of the season.
    """
    gross = burns["unit_id"].map(units.set_index("unit_id")["gross_ac"])
    whole = burns["block"].notna() | (burns["work_ac"] >= WHOLE_SHARE * gross)
    year = burns["first_day"].dt.year.fillna(burns["last_day"].dt.year).fillna(season)
    return burns[whole & (year == season)]


def refuge_clashes(
    burns: gpd.GeoDataFrame,
    units: gpd.GeoDataFrame,
    neighbors: dict[str, set[str]],
    burned_last_year: set[str],
    burned_this_year: set[str],
) -> Iterator[Clash]:
    """What stays unburned beside and among the units that burn wholly this season.

    ``burned_last_year`` are units of which enough burned the year before; of those that are on
    record as burned this year nothing stays unburned either.
    """
    burning = {*burns["unit_id"], *burned_this_year}
    yield from _covers(burns, units, burning)
    for burn in burns.itertuples():
        beside = neighbors.get(burn.unit_id, set())
        at = Clash(work_id=burn.work_id, unit_id=burn.unit_id)
        if not beside - burning:
            yield at | Clash(code="no_unburned_neighbor", names=listed(sorted(beside)) or "none")
        lately = sorted(beside & burned_last_year)
        if lately:
            yield at | Clash(code="neighbor_burned_last_year", names=listed(lately))


def _covers(burns: gpd.GeoDataFrame, units: gpd.GeoDataFrame, burning: set[str]) -> Iterator[Clash]:
    """Kinds of ground of which no unit stays unburned this season, once for each work."""
    cover_of = units.set_index("unit_id")["cover"]
    of_cover = cover_of.dropna().groupby(cover_of.dropna()).agg(lambda rows: set(rows.index))
    for cover, unit_ids in of_cover.items():
        if not unit_ids <= burning:
            continue
        code = "cover_all_burned" if len(unit_ids) > 1 else "only_unit_of_cover"
        for work_id, rows in burns[burns["unit_id"].isin(unit_ids)].groupby("work_id"):
            yield Clash(
                code=code,
                work_id=str(work_id),
                unit_id=rows["unit_id"].iloc[0] if len(unit_ids) == 1 else None,
                names=str(cover),
                figure=len(unit_ids),
                geometry=united(rows.geometry.to_numpy()),
            )


def burned_shares(fire_history: pd.DataFrame, units: pd.DataFrame, year: int) -> "pd.Series[float]":
    """Share [percent] of each unit that burned last in a year, by its record of parts."""
    of_year = fire_history[fire_history["last_burn_year"] == year]
    burned_ac = of_year.groupby("unit_id")["area_ac"].sum()
    return 100 * burned_ac / units.set_index("unit_id")["gross_ac"].reindex(burned_ac.index)


def recovering(
    season_options: pd.DataFrame, past_work: pd.DataFrame, settings: SeasonSettings
) -> set[str]:
    """Units on which one more burn is of those that start a recovery, and among the options."""
    few = past_work["burns_in_5_years"] < settings.recovery_burns
    meant = season_options.loc[season_options["leads_to"] == "burn", "unit_id"]
    return set(past_work.loc[few, "unit_id"]) & set(meant)


def again_clashes(
    burns: pd.DataFrame, history: pd.DataFrame, least_years: int, meant: set[str]
) -> Iterator[Clash]:
    """Burns of units that burned less than so many years ago, all of them or in part.

    On units where a second burn is ``meant`` it is none too soon.
    """
    of_unit = history.set_index("unit_id")
    for burn in burns[~burns["unit_id"].isin(meant)].itertuples():
        known = of_unit.loc[burn.unit_id]
        years = known["years_since_burn"]
        if pd.notna(years) and years < least_years:
            share = known["burned_share_pct"]
            part = "some of it" if pd.isna(share) else f"{half_up(share, 0)} % of it"
            yield Clash(
                code="burned_lately",
                work_id=burn.work_id,
                unit_id=burn.unit_id,
                figure=float(years),
                bound=float(least_years),
                day=known["last_burn"],
                names=part,
            )


def reference_clashes(
    burns: pd.DataFrame, chosen_comparisons: pd.DataFrame, as_of: pd.Timestamp
) -> Iterator[Clash]:
    """Burns of units that a burned one is held against.

    A comparison is running where its second picture lies ahead and is not taken before the burn;
    else the newest of a unit counts.
    """
    references = chosen_comparisons[chosen_comparisons["role"] == "reference"]
    newest = chosen_comparisons.groupby("unit_id")["after"].transform("max")
    for burn in burns.itertuples():
        mine = references[references["unit_id"] == burn.unit_id]
        running = mine[(mine["after"] > as_of) & ~(mine["after"] < burn.first_day)]
        last = mine[mine["after"] == newest[mine.index]]
        code, rows = ("reference_running", running) if len(running) else ("reference_newest", last)
        for row in rows.drop_duplicates("comparison").itertuples():
            yield Clash(
                code=code,
                work_id=burn.work_id,
                unit_id=burn.unit_id,
                day=row.after,
                names=row.comparison,
            )
