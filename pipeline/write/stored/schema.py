"""The schema of a GeoPackage, a whole number, and how one of an older schema is read as today's.

The number is raised when a column or layer is renamed, goes, or comes to mean something else. A
file that tells none is of schema 1, which version 0.1.0 wrote at first: words stood where codes
stand today, and the plan of the season was told by blocks and areas alone.
"""

from collections.abc import Callable, Mapping

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import DTYPE_BY_KIND, Layer, conform, empty
from pipeline.core.names import parted
from pipeline.fire.breaks.given_breaks import list_break_areas, list_break_lines

SCHEMA = 2
"""Schema of what this version writes."""


Raw = dict[str, pd.DataFrame]
"""Layers as a file has them, by name."""


def in_todays_schema(
    raw: Mapping[str, pd.DataFrame],
    layers: Mapping[str, Layer],
    *,
    schema: int,
    newest_source: str,
    crs: object,
) -> tuple[dict[str, pd.DataFrame], dict[str, str]]:
    """Layers of an older schema as they are declared today, and why some of them are not read.

    A column that is declared no more is left out; one that may be empty and is not there is empty.
    A layer that is not read is empty.
    """
    told: Raw = dict(raw)
    for number in range(schema, SCHEMA):
        told = TO_NEXT_SCHEMA[number](told, newest_source)
    frames, unread = {}, {}
    for name, layer in layers.items():
        own_crs = crs if layer.geometry else None
        frames[name] = empty(layer, own_crs)
        try:
            if name in told:
                frames[name] = conform(_declared_columns(told[name], layer), layer, own_crs)
        except ValueError as error:
            unread[name] = str(error)
    return frames, unread


def _declared_columns(frame: pd.DataFrame, layer: Layer) -> pd.DataFrame:
    """The declared columns of a layer; those that may be empty and are not there are empty."""
    kept = [name for name in (*layer.column_names, "geometry") if name in frame]
    blank = {
        column.name: pd.Series(None, frame.index, dtype=DTYPE_BY_KIND[column.kind])
        for column in layer.columns
        if column.nullable and column.name not in frame
    }
    return frame[kept].assign(**blank)


def _from_first(raw: Raw, newest_source: str) -> Raw:
    """Layers of schema 1 in schema 2, as far as they tell the same.

    What has the columns of today is left as it is: the number came later than some of them.
    """
    told = dict(raw)
    for name, (newer, change) in CHANGED_SINCE_FIRST.items():
        if name in told and newer not in told[name]:
            told[name] = change(told[name])
    if "as_of" not in told["property"]:
        told["property"] = told["property"].assign(as_of=pd.Timestamp(newest_source[:10]))
    told.setdefault("planned_work", _planned_by_blocks_and_areas(raw))
    if "breaks" in raw:
        told.setdefault("break_lines", list_break_lines(raw["breaks"]))
        told.setdefault("break_areas", list_break_areas(raw["breaks"]))
    return told


def _history(history: pd.DataFrame) -> pd.DataFrame:
    """A record was told by its years: 2019 to 2026."""
    none = history["record"].eq("none on record")
    renamed = {"mean_years_since_burn_years": "mean_since_burn_years"}
    return history.rename(columns=renamed).assign(
        record=none.map({True: "none_on_record", False: "on_record"}),
        last_burn_window=_codes(history["last_burn_window"]),
    )


def _codes(words: pd.Series) -> pd.Series:
    """Words that became codes as they are."""
    return words.str.replace(" ", "_").astype(object)


def _fuel(fuel: pd.DataFrame) -> pd.DataFrame:
    """Whether less or more fuel carries was told in words alone, and not what the sward tells."""
    return fuel.assign(
        carries_low="unknown",
        carries_high="unknown",
        sward_from="nothing",
        load_class=_codes(fuel["load_class"]),
        reason=[
            next((code for part, code in REASONS.items() if part in words), "no_window")
            for words in fuel["reason"]
        ],
    )


REASONS = {
    "of your temperatures": "own_temperatures",
    "the window needs": "needs_dates",
    "unknown: needs": "needs_measurement",
    "window by": "dates_of_the_region",
}
"""What stood in the sentence on a burn window, and its code today."""


def _community(community: pd.DataFrame) -> pd.DataFrame:
    """What the interval rests on follows from the transects; a cut stood in the note."""
    rests_on = {1: "one_transect", 2: "rests_on_two_transects"}
    return community.assign(
        interval=community["transects"].map(rests_on).fillna("rests_on_three_or_more"),
        interval_cut=community["note"].str.contains("cut off", na=False),
        native_may_be_more=community["unknown_share_pct"].gt(0).fillna(False),
    )


def _season_plan(season_plan: pd.DataFrame) -> pd.DataFrame:
    """Without a suggestion something was missing, or no rule held."""
    outcome = season_plan["missing"].notna().map({True: "unknown", False: "no_rule_holds"})
    return season_plan.assign(outcome=outcome.mask(season_plan["suggestion"].notna(), "option"))


VERDICTS = {
    "greener than": "greener",
    "less green than": "less_green",
    "within": "within",
    "no clear difference": "below_noise",
    "seasonal difference": "seasonal",
    "no interval": "no_interval",
    "cannot be judged": "cannot_judge",
}
"""How the words of a verdict began, behind the role, and its code today."""


def _greenness(greenness: pd.DataFrame) -> pd.DataFrame:
    """A verdict was told in words, and the references alone told how much units differ."""
    words = greenness["verdict"].str.removeprefix("reference unit: ")
    codes = [
        next((code for start, code in VERDICTS.items() if str(word).startswith(start)), word)
        for word in words
    ]
    return greenness.assign(verdict=codes, spread_units=greenness["references"])


def _zone_scenes(zone_scenes: pd.DataFrame) -> pd.DataFrame:
    """The one reason that a figure was not to be used for: too much of the unit was not seen."""
    unseen = zone_scenes["reason"].str.startswith("only", na=False)
    last_day = zone_scenes.get("last_day", zone_scenes["date"])
    reason = zone_scenes["reason"].mask(unseen, "too_little_usable")
    return zone_scenes.assign(reason=reason, last_day=last_day)


CHANGED_SINCE_FIRST: dict[str, tuple[str, Callable[[pd.DataFrame], pd.DataFrame]]] = {
    "history": ("mean_since_burn_years", _history),
    "fuel": ("carries_low", _fuel),
    "community": ("interval", _community),
    "season_plan": ("outcome", _season_plan),
    "greenness": ("spread_units", _greenness),
    "zone_scenes": ("", _zone_scenes),
}
"""Layers that changed, each with a column by which a newer one is known, and the change. Without
such a column the change leaves a newer one as it is."""


TO_NEXT_SCHEMA: dict[int, Callable[[Raw, str], Raw]] = {1: _from_first}
"""How the layers of a schema are told in the next one."""


def _planned_by_blocks_and_areas(raw: Raw) -> gpd.GeoDataFrame:
    """Layer ``planned_work`` of the units that blocks and seeding areas name.

    A burn had no days but those of its unit's fuel, and a seeding that of its planting.
    """
    units = raw["units"].set_index("unit_id")
    window = raw["fuel"].set_index("unit_id") if "fuel" in raw else units
    rows = []
    for kind, layer, named in (("burn", "burn_blocks", "block"), ("seed", "seed_areas", "area")):
        for row in raw[layer].to_dict("records") if layer in raw else ():
            for unit_id in parted(row["unit_ids"], units.index):
                seeding, own = kind == "seed", window.loc[unit_id]
                days = (row.get("planting"),) * 2
                first, last = days if seeding else (own.get("burn_from"), own.get("burn_until"))
                days_from = "property_file" if seeding else "fuel_window"
                rows.append(
                    {
                        "work_id": f"{kind}:{row[named]}",
                        "unit_id": unit_id,
                        "kind": kind,
                        "block": None if seeding else row["block"],
                        "area": row["area"] if seeding else None,
                        "first_day": first,
                        "last_day": last,
                        "days_from": "none" if pd.isna(first) and pd.isna(last) else days_from,
                        "work_ac": units.at[unit_id, "seedable_ac" if seeding else "burnable_ac"],
                        "wind_from_deg": row.get("wind_from_deg"),
                        "mix": row.get("mix"),
                        "method": row.get("method"),
                        "geometry": units.at[unit_id, "geometry"],
                    }
                )
    columns = [*rows[0]] if rows else ["work_id", "geometry"]
    return gpd.GeoDataFrame(rows, columns=columns, geometry="geometry", crs=raw["units"].crs)
