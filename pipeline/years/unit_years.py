"""Each piece of ground year by year: planned from what, done what, and seen afterwards."""

from collections.abc import Iterator, Sequence
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.log.treatment_log import NO_TREATMENTS, event_words
from pipeline.season.plants.ground_words import GROUND
from pipeline.years.ground import MOSTLY_PCT, Line, Outlines, units_then
from pipeline.years.layers import LINE_RECORDS, LINES, SPECIES_YEARS, UNIT_YEARS
from pipeline.years.options import fall, option_taken
from pipeline.years.records import JoinedLog
from pipeline.years.runs import SeasonRun

READINGS = (
    ("greenness", "pictured", "greenness_gap", "references"),
    ("native_share_pct", "surveyed", "cool_exotic_share_pct"),
    ("fuel_lb_ac", "fuel_on"),
)
"""Columns of ``road_years`` that are taken together, from the newest run that tells the first."""


LOGGED = (("state",), ("grazed_days", "grazed_aum"))
"""Columns that rest on the log: the first run after the year knew the units by their names."""


class Ground:
    """A piece of ground with the unit that holds most of it in each season."""

    def __init__(self, line: Line, runs: Sequence[SeasonRun], outlines: Outlines) -> None:
        self.line, self.outline = line.line, line.outline
        self.acres = outlines.acres[line.outline]
        self.units = {run.season: units_then(outlines, line, run.season) for run in runs}

    def main_unit(self, season: int) -> str | None:
        """Unit that holds more than half of the ground in a season; None where none does."""
        found = self.units.get(season) or [("", 0.0)]
        unit_id, share = found[0]
        return unit_id if round(100.0 * share, 4) > MOSTLY_PCT else None


def tell_unit_years(
    runs: Sequence[SeasonRun], lines: Sequence[Line], log: JoinedLog, outlines: Outlines
) -> pd.DataFrame:
    """Table ``unit_years``: from the year before the first season to the last one."""
    years = range(runs[0].season - 1, runs[-1].season + 1)
    rows = []
    for line in lines:
        ground = Ground(line, runs, outlines)
        of_line = records_on(log, line.outline, outlines)
        rows += [_year(ground, year, runs, log, of_line, outlines) for year in years]
    return pd.DataFrame(rows, columns=UNIT_YEARS.column_names)


def records_on(log: JoinedLog, outline: int, outlines: Outlines) -> pd.DataFrame:
    """Records on a piece of ground, with the acres of each that lie on it."""
    rows = log.rows
    placed = rows["outline"].notna()
    acres = pd.Series(
        [
            float(ac) * outlines.share(int(own), outline) if known else float("nan")
            for own, ac, known in zip(rows["outline"], rows["record_ac"], placed, strict=True)
        ],
        index=rows.index,
        dtype="float64",
    )
    met = [
        bool(known) and outlines.share(int(own), outline) > 0
        for own, known in zip(rows["outline"], placed, strict=True)
    ]
    return rows.assign(line_ac=acres)[pd.Series(met, rows.index, dtype=bool)]


def tell_line_records(lines: Sequence[Line], log: JoinedLog, outlines: Outlines) -> pd.DataFrame:
    """Table ``line_records``: each record on each piece of ground."""
    parts = [
        records_on(log, line.outline, outlines).assign(line=line.line)
        for line in lines
        if len(log.rows)
    ]
    filled = [part for part in parts if len(part)]
    if not filled:
        return empty(LINE_RECORDS)
    table = pd.concat(filled, ignore_index=True)
    return table.assign(number=range(1, len(table) + 1))[LINE_RECORDS.column_names]


def _year(
    ground: Ground,
    year: int,
    runs: Sequence[SeasonRun],
    log: JoinedLog,
    records: pd.DataFrame,
    outlines: Outlines,
) -> dict[str, Any]:
    """One year of a piece of ground."""
    told = ground.units.get(year, [])
    row: dict[str, Any] = {
        "line": ground.line,
        "year": year,
        "units_then": ", ".join(unit for unit, _ in told) or None,
        "known_pct": min(100.0, 100.0 * sum(share for _, share in told)) if told else None,
    }
    later = [run for run in runs if run.season > year]
    own = next((run for run in runs if run.season == year), None)
    row |= _seen(ground, year, later)
    if own is not None:
        row |= _planned(ground, own, log, outlines, known_state=row.get("state"))
    return row | _done(ground, year, log, records)


def _planned(
    ground: Ground, run: SeasonRun, log: JoinedLog, outlines: Outlines, *, known_state: Any
) -> dict[str, Any]:
    """What the season was planned from: fuel, first option, and the state where no later run is."""
    unit_id = ground.main_unit(run.season)
    fuel = _row_of(run.frames["fuel"], unit_id)
    road = _row_of(run.frames["road"], unit_id)
    plan = _row_of(run.frames["season_plan"], unit_id)
    option = plan.get("leads_to")
    number = outlines.numbers.get((run.season, unit_id or ""))
    return {
        "carries": fuel.get("carries"),
        "spring_load_lb_ac": fuel.get("spring_load_lb_ac"),
        "state": road.get("state") if known_state is None else known_state,
        "option": option,
        "option_taken": option_taken(option, run, number, log, outlines)
        if number is not None and pd.notna(option)
        else None,
    }


def _seen(ground: Ground, year: int, later: Sequence[SeasonRun]) -> dict[str, Any]:
    """What later runs tell of a year; of an older schema, what its surveys and loads tell."""
    row: dict[str, Any] = {}
    for groups, runs in ((READINGS, [*reversed(later)]), (LOGGED, later)):
        for group in groups:
            for run in runs:
                told = _year_of(run, ground.main_unit(run.season), year)
                if pd.notna(told.get(group[0])):
                    row |= {name: told[name] for name in group}
                    row["seen_in"] = max(run.season, row.get("seen_in", 0))
                    break
    return row


def _year_of(run: SeasonRun, unit_id: str | None, year: int) -> dict[str, Any]:
    """What a run tells of a unit and year."""
    years = run.frames["road_years"]
    if len(years):
        own = years[years["unit_id"].eq(unit_id) & years["year"].eq(year)]
        return dict(own.iloc[0]) if len(own) else {}
    survey, load = run.frames["community"], run.frames["standing"]
    survey = survey[survey["unit_id"].eq(unit_id) & survey["date"].dt.year.eq(year)]
    load = load[load["unit_id"].eq(unit_id) & load["date"].dt.year.eq(year)]
    row: dict[str, Any] = dict.fromkeys(name for group in READINGS + LOGGED for name in group)
    if len(survey):
        last = survey.iloc[-1]
        row |= {name: last[name] for name in ("native_share_pct", "cool_exotic_share_pct")}
        row["surveyed"] = last["date"]
    if len(load):
        row |= {"fuel_lb_ac": load.iloc[-1]["mean_lb_ac"], "fuel_on": load.iloc[-1]["date"]}
    grazing = run.frames["grazing"]
    grazing = grazing[grazing["unit_id"].eq(unit_id) & grazing["year"].eq(year)]
    if len(grazing):
        row |= {"grazed_days": grazing["days"].sum(), "grazed_aum": grazing["aum"].sum()}
    return row


def _done(ground: Ground, year: int, log: JoinedLog, records: pd.DataFrame) -> dict[str, Any]:
    """What the logs tell of a year on a piece of ground."""
    of_year = records[records["start"].dt.year.eq(year)] if len(records) else records
    work = of_year[~of_year["kind"].isin(NO_TREATMENTS)]
    told = any(s.first <= fall(year) <= s.last for s in log.spans)
    row: dict[str, Any] = {
        "done": event_words(work) if len(work) else None,
        "rested": not len(work) if told or len(work) else None,
    }
    for kind, column in (("burn", "burned_pct"), ("seed", "seeded_pct")):
        own = work[work["kind"] == kind]
        if len(own) and own["line_ac"].notna().any():
            row[column] = min(100.0, 100.0 * own["line_ac"].sum() / ground.acres)
    return row


def _row_of(frame: pd.DataFrame, unit_id: str | None) -> dict[str, Any]:
    """Row of a unit; nothing where there is none."""
    own = frame[frame["unit_id"] == unit_id]
    return dict(own.iloc[0]) if len(own) else {}


def tell_species_years(
    runs: Sequence[SeasonRun], lines: Sequence[Line], outlines: Outlines
) -> pd.DataFrame:
    """Table ``species_years``: of each year the newest survey, as the newest run tells it."""
    rows = [row for line in lines for row in _species(Ground(line, runs, outlines), runs)]
    return pd.DataFrame(rows, columns=SPECIES_YEARS.column_names)


def _species(ground: Ground, runs: Sequence[SeasonRun]) -> Iterator[dict[str, Any]]:
    """Species of one piece of ground, year by year."""
    told: set[int] = set()
    for run in reversed(runs):
        cover = run.frames["plant_cover"]
        own = cover[cover["unit_id"].eq(ground.main_unit(run.season))]
        for year, of_year in own.groupby(own["date"].dt.year):
            if int(year) in told:
                continue
            told.add(int(year))
            newest = of_year[of_year["date"] == of_year["date"].max()]
            for row in newest.to_dict("records"):
                kept = {name: row.get(name) for name in SPECIES_YEARS.column_names}
                yield kept | {"line": ground.line, "year": int(year), "seen_in": run.season}


def with_species_counts(unit_years: pd.DataFrame, species_years: pd.DataFrame) -> pd.DataFrame:
    """The years with the species on their transects; ground without a plant is none."""
    plants = species_years[~species_years["group"].isin(GROUND)]
    counts = plants.groupby(["line", "year"])["species"].nunique().rename("species_found")
    return unit_years.drop(columns="species_found").merge(
        counts.reset_index(), on=["line", "year"], how="left"
    )


def draw_lines(
    runs: Sequence[SeasonRun],
    lines: Sequence[Line],
    unit_years: pd.DataFrame,
    log: JoinedLog,
    outlines: Outlines,
) -> gpd.GeoDataFrame:
    """Layer ``ground_lines``: the ground that is followed, with what the newest year tells."""
    rows = []
    for line in lines:
        ground = Ground(line, runs, outlines)
        held = {s: unit for s in ground.units if (unit := ground.main_unit(s)) is not None}
        burns = records_on(log, line.outline, outlines)
        units = next(run for run in runs if run.season == line.season).frames["units"]
        own = unit_years[unit_years["line"] == line.line].sort_values("year")
        rows.append(
            {
                "line": line.line,
                "name": _row_of(units, line.unit_id).get("name"),
                "season": line.season,
                "line_ac": ground.acres,
                "first_season": min(held, default=line.season),
                "names": ", ".join(dict.fromkeys(held[s] for s in sorted(held))) or line.unit_id,
                "burns": int(burns.loc[burns["kind"] == "burn", "start"].nunique()),
                "state": _last(own["state"]),
                "native_share_pct": _last(own["native_share_pct"]),
                "geometry": outlines.shapes[line.outline],
            }
        )
    if not rows:
        return gpd.GeoDataFrame(empty(LINES, outlines.crs))
    return gpd.GeoDataFrame(rows, geometry="geometry", crs=outlines.crs)


def _last(values: pd.Series) -> Any:
    """The newest value that is known."""
    known = values.dropna()
    return known.iloc[-1] if len(known) else None
