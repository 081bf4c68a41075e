"""What a batch takes of a run: the figures of the property and of each unit, and what it adds up.

Small frames, since they pass from a worker to the process that gathers them.
"""

from collections.abc import Iterable, Mapping

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.batch.layers import (
    CREW_DAY_HOURS,
    CREW_WEEKS,
    LAYERS,
    PROPERTIES,
    SEED_WEEKS,
)
from pipeline.core.layer import Layer, conform, empty
from pipeline.greenness.change_columns import CLEAR_VERDICTS
from pipeline.work.layers import SERIOUSNESS

READ = (
    "property",
    "ground_totals",
    "units",
    "firebreaks",
    "fuel",
    "history",
    "greenness",
    "planned_work",
    "conflicts",
    "tasks",
    "season_costs",
    "seed_order",
    "findings",
)
"""Layers of a run that its figures are made from."""


WORK = ["work_hours", "seed_lb", "cost_usd"]


LON_LAT = 4326  # EPSG: properties lie in different working systems, so all are told in one.


Frames = Mapping[str, pd.DataFrame]


def property_figures(frames: Frames) -> dict[str, pd.DataFrame]:
    """Rows of one run for the tables of a batch, by the table they are for."""
    head = frames["property"].iloc[0]
    named = {"property": head["name"], "season": head["season"]}
    costs = frames["season_costs"][["kind", "place", "work_ac", "length_ft", *WORK]]
    tasks = frames["tasks"].loc[frames["tasks"]["work_hours"].gt(0), ["first_day", "due"]]
    tasks = tasks.assign(work_hours=frames["tasks"]["work_hours"])
    return {
        "properties": _property_row(frames).assign(**named),
        "units": _unit_rows(frames).assign(**named),
        "season_costs": costs.assign(**named),
        "crew_weeks": pd.DataFrame(tasks).assign(**named),
        "seed_weeks": _to_buy(frames["seed_order"]).assign(**named),
    }


def _property_row(frames: Frames) -> gpd.GeoDataFrame:
    """The row of the property: its ground, and its figures added up."""
    units, breaks, greenness = (frames[n] for n in ("units", "firebreaks", "greenness"))
    totals, costs = frames["ground_totals"].iloc[0], frames["season_costs"]
    kinds = frames["conflicts"]["seriousness"].value_counts()
    verdicts = greenness.loc[greenness["role"] == "burned", "verdict"].value_counts()
    row = {
        **{kind: int(kinds.get(kind, 0)) for kind in SERIOUSNESS},
        "warnings": int(frames["findings"]["severity"].eq("warning").sum()),
        **{name: totals[name] for name in ("units", "units_ac", "ground_ac", "burnable_ac")},
        "prepare_ft": breaks.loc[breaks["status"] == "prepare", "length_ft"].sum(),
        **costs[WORK].sum(min_count=1).to_dict(),
        "without_price": int(costs["without_price"].notna().sum()),
        **{name: int(verdicts.get(name, 0)) for name in CLEAR_VERDICTS},
        "not_clear": int(verdicts.drop(list(CLEAR_VERDICTS), errors="ignore").sum()),
    }
    ground = gpd.GeoSeries([shapely.union_all(units.geometry)], crs=units.crs).to_crs(LON_LAT)
    return gpd.GeoDataFrame([row], geometry=ground)


def _unit_rows(frames: Frames) -> gpd.GeoDataFrame:
    """A row a unit: acres, what stands against the work on it, fuel, last burn and its answer."""
    units, planned, greenness = (frames[n] for n in ("units", "planned_work", "greenness"))
    newest = greenness[greenness["role"] == "burned"].sort_values("after", kind="stable")
    verdict = newest.drop_duplicates("unit_id", keep="last").set_index("unit_id")["verdict"]
    against = _conflicts_by_unit(frames["conflicts"], planned)
    rows = units[["unit_id", "name", "gross_ac", "burnable_ac", "seedable_ac", "geometry"]]
    unit_id = rows["unit_id"]
    return rows.to_crs(LON_LAT).assign(
        blocks=unit_id.map(_names_by_unit(planned, "block")),
        areas=unit_id.map(_names_by_unit(planned, "area")),
        **{kind: unit_id.map(against.get(kind, {})).fillna(0).astype(int) for kind in SERIOUSNESS},
        carries=unit_id.map(frames["fuel"].set_index("unit_id")["carries"]),
        last_burn=unit_id.map(frames["history"].set_index("unit_id")["last_burn"]),
        verdict=unit_id.map(verdict),
    )


def _names_by_unit(planned: pd.DataFrame, column: str) -> dict[str, str]:
    """Blocks or areas that each unit is part of, a comma between."""
    told = planned[planned[column].notna()]
    return {str(u): ", ".join(dict.fromkeys(names)) for u, names in told.groupby("unit_id")[column]}


def _conflicts_by_unit(conflicts: pd.DataFrame, planned: pd.DataFrame) -> dict[str, "pd.Series"]:
    """Conflicts of each unit by kind; one about all of the work counts for each unit of it."""
    told = pd.DataFrame(conflicts[["number", "seriousness", "work_id", "unit_id"]])
    whole = told[told["unit_id"].isna()].drop(columns="unit_id")
    of_units = planned[["work_id", "unit_id"]].drop_duplicates()
    each = pd.concat([told[told["unit_id"].notna()], whole.merge(of_units, on="work_id")])
    pairs = each.drop_duplicates(["number", "unit_id"]).groupby("seriousness")["unit_id"]
    return {str(kind): units.value_counts() for kind, units in pairs}


def _to_buy(order: pd.DataFrame) -> pd.DataFrame:
    """Rows of the seed order that something is to be bought of."""
    figures = ["pls_to_order_lb", "bulk_to_order_lb"]
    wanted = (order[figures] > 0).any(axis=1)
    columns = ["vendor", "need_by", "species", "common_name", *figures, "cost_usd"]
    return pd.DataFrame(order.loc[wanted, columns])


def batch_tables(
    heads: Iterable[Mapping[str, object]], figures: Iterable[Frames]
) -> dict[str, pd.DataFrame]:
    """Tables of a batch, as declared, from what each property came to.

    ``heads`` tell state, files and reasons, and ``figures`` the rest, of each property; a property
    that failed has none.
    """
    parts = list(figures)
    pairs = zip(heads, parts, strict=True)
    properties = [_with_head(frames.get("properties"), head) for head, frames in pairs]
    gathered = {name: _gathered(parts, name) for name in LAYERS}
    rows = gathered | {
        "properties": _stacked(properties, PROPERTIES),
        "crew_weeks": _crew_weeks(gathered["crew_weeks"]),
        "seed_weeks": _seed_weeks(gathered["seed_weeks"]),
    }
    return {
        name: conform(rows[name], layer, LON_LAT if layer.geometry else None)
        for name, layer in LAYERS.items()
    }


def _with_head(row: pd.DataFrame | None, head: Mapping[str, object]) -> pd.DataFrame:
    """Row of a property with its state and files; where it failed, without figures."""
    told = gpd.GeoDataFrame([{}], geometry=[None], crs=LON_LAT) if row is None else row
    return told.assign(**head)


def _gathered(parts: Iterable[Frames], name: str) -> pd.DataFrame:
    """Rows of one table of all properties, one below the other."""
    return _stacked([frames[name] for frames in parts if name in frames], LAYERS[name])


def _stacked(frames: Iterable[pd.DataFrame], layer: Layer) -> pd.DataFrame:
    """Frames of one table, one below the other, with all columns that it declares."""
    filled = [frame for frame in frames if len(frame)]
    if not filled:
        return empty(layer, LON_LAT if layer.geometry else None)
    # As objects, so that a column that is empty in one run does not decide on the type.
    records = [row for frame in filled for row in frame.to_dict("records")]
    frame = pd.DataFrame(records, dtype=object)
    frame = frame.reindex(columns=frame.columns.union(layer.column_names, sort=False))
    return frame.where(frame.notna(), None)


def _monday(days: pd.Series) -> pd.Series:
    """Monday of the week of each day."""
    return pd.to_datetime(days).dt.to_period("W").dt.start_time.astype("datetime64[s]")


def _crew_weeks(tasks: pd.DataFrame) -> pd.DataFrame:
    """Hours and crew days of all tasks by the week that they are due in."""
    if tasks.empty:
        return empty(CREW_WEEKS)
    told = tasks.assign(week=_monday(tasks["due"].where(tasks["due"].notna(), tasks["first_day"])))
    told["place"] = [*zip(told["property"], told["season"], strict=True)]
    told["work_hours"] = told["work_hours"].astype(float)
    weeks = told.groupby("week", dropna=False)
    rows = weeks.agg(
        tasks=("place", "size"), properties=("place", "nunique"), work_hours=("work_hours", "sum")
    )
    return rows.assign(crew_days=rows["work_hours"] / CREW_DAY_HOURS).reset_index()


def _seed_weeks(lines: pd.DataFrame) -> pd.DataFrame:
    """Seed to buy for all properties by vendor, week and species."""
    if lines.empty:
        return empty(SEED_WEEKS)
    told = lines.assign(week=_monday(lines["need_by"]), unpriced=lines["cost_usd"].isna())
    told["place"] = [*zip(told["property"], told["season"], strict=True)]
    figures = ["pls_to_order_lb", "bulk_to_order_lb", "cost_usd"]
    told[figures] = told[figures].astype(float)
    groups = told.groupby(["vendor", "week", "species"], dropna=False)
    counts = groups.agg(
        common_name=("common_name", "first"),
        properties=("place", "nunique"),
        without_price=("unpriced", "sum"),
    )
    return counts.join(groups[figures].sum(min_count=1)).reset_index()
