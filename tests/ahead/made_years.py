"""Made properties for the plan of years: tables of invented units, planned by the real steps."""

import sqlite3
from contextlib import closing

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.ahead.cases import list_case_years, sum_what_ifs
from pipeline.ahead.choices import choose_years
from pipeline.ahead.settings import PlanSettings
from pipeline.ahead.totals import map_plan_years, sum_plan, sum_plan_years
from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.fire.mowing.settings import MowingSettings
from pipeline.season.options.settings import AimsSettings
from pipeline.season.settings import HerdSettings, SeasonSettings
from pipeline.work.settings import CostSettings
from tests.literal_layers import literal_layer

SEASON = 2027
SQUARE = shapely.box(0, 0, 1, 1)
UNIT = {
    "state": "recovered",
    "cover": "native",
    "burnable_ac": 40.0,
    "years_since_burn": 4,
    "burn_on_record": True,
    "last_burn_time": "early_spring",
    "rested_seasons": 1,
    "least_years": 3,
    "most_years": 6,
    "rest_years": 1,
    "supply_aum": 20.0,
}
STATES = ("inherited", "waiting", "recovering", "recovered", "established")


def plan_units(rows):
    """Layer ``plan_units`` of some rows, each a unit as others are but for what it tells.

    What a limit closes without a last year stays closed.
    """
    rows = [UNIT | row for row in rows]
    for row in rows:
        if row.get("closed") and "closed_until" not in row:
            row["closed_until"] = "; ".join(["2099"] * len(row["closed"].split("; ")))
    return literal_layer("plan_units", rows)


def grid_edges(names, across, chance, *, feet=1320.0):
    """Layer ``plan_edges`` of units on a grid, row by row, with lines of made lengths."""
    rows = []
    for n, name in enumerate(names):
        beside = [n + 1] if (n + 1) % across and n + 1 < len(names) else []
        beside += [n + across] if n + across < len(names) else []
        for other in beside:
            one, two = sorted((name, names[other]))
            line = feet * chance.uniform(0, 1)
            rows.append({"unit_id": one, "neighbor": two, "shared_ft": feet, "line_ft": line})
        rows.append({"unit_id": name, "shared_ft": feet, "line_ft": feet * chance.uniform(0, 1)})
    return literal_layer("plan_edges", rows)


def made_units(chance, count):
    """Rows of made units: most of them pasture, some fields, some not known enough."""
    rows = []
    for n in range(count):
        kind = chance.choice(["pasture", "pasture", "pasture", "pasture", "field", "young", "dim"])
        row = {
            "unit_id": f"U{n:03d}",
            "state": str(chance.choice(STATES)),
            "cover": str(chance.choice(["native", "replanted"])),
            "burnable_ac": float(chance.uniform(15, 60)),
            "years_since_burn": int(chance.integers(1, 9)),
            "last_burn_time": str(chance.choice(["early_spring", "late_spring", "fall"])),
            "rested_seasons": int(chance.integers(0, 3)),
            "rest_years": int(chance.integers(1, 3)),
            "supply_aum": float(chance.uniform(5, 40)),
            "last_grazed": chance.choice([None, "graze_early", "graze_late"]),
        }
        row |= {
            "field": {"state": "cropped", "supply_aum": None},
            "young": {"state": "establishing", "years_since_seeding": int(chance.integers(1, 5))},
            "dim": {"undecided_by": "needs_fuel", "supply_aum": None},
        }.get(str(kind), {})
        if chance.random() < 0.1:
            row["no_burn_by"] = "no_fire"
        if chance.random() < 0.1:
            row |= {"closed": "burn_late_spring; graze_early", "closed_by": "contract"}
        rows.append(row)
    return rows


def planned(
    units,
    edges,
    *,
    fixed=(),
    former=(),
    work=(),
    harvests=(),
    log=(),
    offered=(),
    demand_aum=60.0,
    aims=None,
    costs=None,
    **plan,
):
    """Tables of the plan that the real steps make of made units; ``work`` is planned already."""
    settings = PlanSettings(**{"years": 8} | plan)
    property = literal_layer("property", [{"name": "Made", "season": SEASON}])
    balance = pd.DataFrame({"demand_aum": [demand_aum]})
    asked = (
        units,
        edges,
        literal_layer("planned_work", work, [SQUARE] * len(work)),
        literal_layer("fixed_years", fixed),
        literal_layer("former_plan", former),
        balance,
        literal_layer("own_harvest", harvests),
        literal_layer("treatment_log", log),
        property,
        SeasonSettings(),
        HerdSettings(),
        aims or AimsSettings(hay_units=("U001",)),
        costs or CostSettings(),
        MowingSettings(),
        settings,
    )
    choices = choose_years(*asked)
    choices = conform(choices, LAYERS["plan_choices"])
    cases = conform(list_case_years(choices, settings), LAYERS["plan_case_years"])
    end = (units, balance, SeasonSettings(), MowingSettings(), settings)
    ground = gpd.GeoDataFrame({"unit_id": units["unit_id"]}, geometry=[SQUARE] * len(units))
    limits = literal_layer("unit_limits")
    years = map_plan_years(ground, choices, limits, SeasonSettings(), HerdSettings())
    days = literal_layer("offered_days", offered)
    totals = sum_plan_years(years, units, edges, balance, days, settings)
    return {
        "plan_units": units,
        "plan_edges": edges,
        "plan_years": years.drop(columns="geometry"),
        "plan_totals": conform(totals, LAYERS["plan_totals"]),
        "plan_case_years": cases,
        "plan_cases": sum_what_ifs(cases, *end),
        "plan_summary": conform(sum_plan(choices), LAYERS["plan_summary"]),
        "settings": settings_table(plan=settings, season=SeasonSettings()),
    }


def settings_table(**sections):
    """Rows of the layer ``settings`` that the checker asks for."""
    texts = {None: "not given", True: "true", False: "false"}
    rows = []
    for section, settings in sections.items():
        for name, value in settings:
            plain = value is None or isinstance(value, bool)
            text = (
                texts[value] if plain else ", ".join(value) if name == "burn_times" else str(value)
            )
            rows.append({"section": section, "setting": name, "value": text})
    return pd.DataFrame(rows)


def written(tables, path):
    """The tables in an SQLite file, as a GeoPackage has them."""
    with closing(sqlite3.connect(path)) as base, base:
        for name, frame in tables.items():
            frame.to_sql(name, base, index=False)
    return path


def made_property(seed):
    """A made property of 4 to 14 units, planned under limits that are drawn as well."""
    chance = np.random.default_rng(seed)
    count = int(chance.integers(4, 15))
    units = plan_units(made_units(chance, count))
    edges = grid_edges(list(units["unit_id"]), int(chance.integers(2, 5)), chance)
    asked = {
        "refuge": str(chance.choice(["neighbor", "apart", "none"])),
        "most_burned_pct": float(chance.choice([33, 50, 100])),
        "crew_days": float(chance.choice([2, 4])) if chance.random() < 0.5 else None,
        "money_usd": float(chance.choice([2500, 5000])) if chance.random() < 0.5 else None,
        "own_seed_ac": float(chance.choice([0, 10, 30])),
        "burned_rest_years": int(chance.integers(0, 3)),
        "herd_met": bool(chance.random() < 0.3),
    }
    fixed = []
    if chance.random() < 0.5:
        fixed = [{"unit_id": "U000", "year": SEASON + 1, "treatment": "burn"}]
    return planned(units, edges, fixed=fixed, demand_aum=float(chance.uniform(0, 150)), **asked)
