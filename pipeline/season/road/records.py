"""All that may move a unit on the road, brought into one table by its day."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.ground.geometry import area_ac
from pipeline.ground.overlays import common, united
from pipeline.season.road.layers import EVENTS, ROAD_RECORDS
from pipeline.season.settings import SeasonSettings

SHARED = ("burn", "seed", "till")
"""Kinds of work that count by how much of the unit they took."""


TAKES_FUEL = ("graze", "hay", "mow")
"""Kinds of work that end a rest where they took the greater part."""


NATIVE_GROUPS = (
    "native_warm_grass",
    "native_cool_grass",
    "native_sedge",
    "native_forb",
    "native_legume",
)


ROW = ["unit_id", "start", "end", "kind", "acres_treated_ac"]
"""What makes two rows of the log for one and the same work."""


def list_road_records(
    units: gpd.GeoDataFrame,
    treatment_log: pd.DataFrame,
    burned_areas: gpd.GeoDataFrame,
    burned_shares: pd.DataFrame,
    community: pd.DataFrame,
    plant_changes: pd.DataFrame,
    greenness: pd.DataFrame,
    property: pd.DataFrame,
    settings: SeasonSettings,
) -> pd.DataFrame:
    """Table ``road_records``: what is on record of each unit up to the day of the plan."""
    pictured = burned_shares[["unit_id", "burned", "burned_pct"]].dropna()
    log = _work(treatment_log, units, burned_areas, pictured, settings.whole_unit_pct)
    parts = [log, _surveys(community, plant_changes), _readings(greenness)]
    told = pd.concat([part for part in parts if len(part)] or [parts[0]])
    until = property["as_of"].iloc[0]
    if pd.isna(until):
        until = told["day"].max()
    told = told[told["day"] <= until]
    both = [told, _year_ends(units, told, until)]
    records = pd.concat([part for part in both if len(part)] or [both[0]])
    ordered = records.assign(place=records["event"].map(EVENTS.index))
    return ordered.sort_values(["unit_id", "day", "place"], kind="stable").reindex(
        columns=ROAD_RECORDS.column_names
    )


def distinct_rows(treatment_log: pd.DataFrame) -> pd.DataFrame:
    """Rows of the log; of those that tell the same work the first alone."""
    return treatment_log.drop_duplicates(ROW).sort_values("start", kind="stable")


def _work(
    treatment_log: pd.DataFrame,
    units: gpd.GeoDataFrame,
    burned_areas: gpd.GeoDataFrame,
    pictured: pd.DataFrame,
    whole_unit_pct: float,
) -> pd.DataFrame:
    """Rows of the log as events: work that has not taken the greater part is a part of one.

    Of burns, seedings and tillage each year has one event of the greater part, on the day on which
    what was done in the year first came to so much.
    """
    rows = distinct_rows(treatment_log)
    events = rows[["unit_id", "start", "kind"]].set_axis(["unit_id", "day", "event"], axis=1)
    events = events.assign(share_pct=np.nan)
    shapes = units.set_index("unit_id")
    for (unit_id, kind, _), of_year in rows.groupby(["unit_id", "kind", rows["start"].dt.year]):
        if kind in SHARED:
            unit = shapes.loc[[unit_id]]
            drawn = burned_areas[(burned_areas["unit_id"] == unit_id) & (kind == "burn")]
            seen = pictured[(pictured["unit_id"] == unit_id) & (kind == "burn")]
            shares = _shares_so_far(of_year, unit, drawn, seen)
            whole = np.array(shares) >= whole_unit_pct
            first = np.cumsum(whole) == 1
            events.loc[of_year.index, "share_pct"] = shares
            names = np.where(whole & first, kind, f"part_{kind}")
            events.loc[of_year.index, "event"] = names
    taken_pct = 100.0 * rows["acres_treated_ac"] / rows["unit_id"].map(shapes["gross_ac"])
    parts = rows["kind"].isin(TAKES_FUEL) & (taken_pct.astype("float64") < whole_unit_pct)
    return events.assign(
        event=events["event"].mask(parts, "part_" + rows["kind"]),
        share_pct=events["share_pct"].mask(parts, taken_pct),
    )


def _shares_so_far(
    of_year: pd.DataFrame, unit: gpd.GeoDataFrame, drawn: gpd.GeoDataFrame, seen: pd.DataFrame
) -> list[float]:
    """Share [percent] of a unit that the work of a year had taken, row by row.

    A burn takes the ground drawn for its day, else the acres of its row, else what the pictures
    show of it, else the whole unit. Drawn ground counts once, however often it burned.
    """
    unit_ac = float(unit["gross_ac"].iloc[0])
    outline, shapes, other_pct, shares = unit.geometry.iloc[0], [], 0.0, []
    for row in of_year.itertuples(index=False):
        of_day = drawn.loc[drawn["date"] == row.start, "geometry"].to_numpy()
        pictures = seen.loc[seen["burned"] == row.start, "burned_pct"]
        if len(of_day):
            shapes.append(common(united(of_day), outline))
        elif pd.notna(row.acres_treated_ac):
            left = 0.0 if pd.isna(row.unburned_inside_pct) else row.unburned_inside_pct
            other_pct += row.acres_treated_ac * (100.0 - left) / unit_ac
        else:
            other_pct += float(pictures.iloc[0]) if len(pictures) else 100.0
        shares.append(min(100.0, other_pct + _share_pct(shapes, unit)))
    return shares


def _share_pct(shapes: list[shapely.Geometry], unit: gpd.GeoDataFrame) -> float:
    """Share [percent] of a unit that some ground in it takes."""
    if not shapes:
        return 0.0
    areas = area_ac(gpd.GeoSeries([united(np.array(shapes)), unit.geometry.iloc[0]], crs=unit.crs))
    return 100.0 * float(areas[0]) / float(areas[1])


def _surveys(community: pd.DataFrame, plant_changes: pd.DataFrame) -> pd.DataFrame:
    """Surveys as events, with how the native groups changed since the one before."""
    shares = ["native_share_pct", "cool_exotic_share_pct"]
    events = pd.DataFrame(community[["unit_id", "date", *shares]])
    natives = plant_changes[plant_changes["group"].isin(NATIVE_GROUPS)]
    by_survey = natives.groupby(["unit_id", "date"])
    told = pd.DataFrame(
        [
            {
                "unit_id": unit_id,
                "date": day,
                "before": rows["before"].iloc[0],
                "natives": native_change(rows[rows["species"].isna()]),
                "new_natives": int((rows["seen"] == "first_seen").sum()),
            }
            for (unit_id, day), rows in by_survey
        ],
        columns=["unit_id", "date", "before", "natives", "new_natives"],
    )
    told = told.astype({"date": events["date"].dtype, "unit_id": object})
    events = events.merge(told, on=["unit_id", "date"], how="left")
    return events.rename(columns={"date": "day"}).assign(event="survey")


def native_change(groups: pd.DataFrame) -> str | None:
    """Code of how the native groups of plants changed, by the intervals of their changes.

    A group is up where its whole interval lies above zero. None where no interval is known.
    """
    known = groups.dropna(subset=["change_low_pct", "change_high_pct"])
    if known.empty:
        return None
    up, down = (known["change_low_pct"] > 0).any(), (known["change_high_pct"] < 0).any()
    if up and down:
        return "mixed"
    return "up" if up else "down" if down else "same"


def _readings(greenness: pd.DataFrame) -> pd.DataFrame:
    """Verdicts on the greenness of burned units as events, on the day of the picture after."""
    burned = greenness.loc[greenness["role"] == "burned", ["unit_id", "after", "verdict"]]
    events = pd.DataFrame(burned).rename(columns={"after": "day"})
    return events.assign(event="greenness")


def _year_ends(units: pd.DataFrame, told: pd.DataFrame, until: pd.Timestamp) -> pd.DataFrame:
    """The last day of each year from the first record of the property on, for every unit."""
    if told.empty:
        return told
    years = range(told["day"].dt.year.min(), until.year + 1)
    ends = [pd.Timestamp(year, 12, 31) for year in years]
    rows = [(unit_id, end) for unit_id in units["unit_id"] for end in ends if end <= until]
    return pd.DataFrame(rows, columns=["unit_id", "day"]).assign(event="year_end")
