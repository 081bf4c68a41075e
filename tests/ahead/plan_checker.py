"""Finds every broken rule of a plan of years in the tables of a GeoPackage, and nothing else.

Written apart from the engine: it reads SQLite, knows the meaning of the columns and settings, and
imports nothing of the program.
"""

import ast
import math
import sqlite3
from collections import defaultdict
from contextlib import closing

TABLES = ("settings", "plan_units", "plan_edges", "plan_years", "plan_totals", "plan_summary")
NOT_BURNED = ("rest", "graze_early", "graze_late", "hay", "seed", "wait", "undecided")
NEAR = 1e-6


def read_tables(path):
    """Rows of the plan's tables as dictionaries."""
    with closing(sqlite3.connect(path)) as base, base:
        base.row_factory = sqlite3.Row
        return {
            name: [dict(row) for row in base.execute(f"select * from {name}")] for name in TABLES
        }


def value_of(text):
    """A setting's text as a value."""
    if text == "not given":
        return None
    if text in ("true", "false"):
        return text == "true"
    try:
        return ast.literal_eval(text)
    except (ValueError, SyntaxError):
        return text


def is_burn(treatment):
    return treatment.startswith("burn")


def broken_rules(path):
    """Every broken rule of the plan in a file, one line each."""
    tables = read_tables(path)
    told = {(r["section"], r["setting"]): value_of(r["value"]) for r in tables["settings"]}
    plan = {name: value for (section, name), value in told.items() if section == "plan"}
    season = {name: value for (section, name), value in told.items() if section == "season"}
    units = {row["unit_id"]: row for row in tables["plan_units"]}
    rows = {(row["unit_id"], row["year"]): row for row in tables["plan_years"]}
    years = sorted({year for _, year in rows})
    found = []
    if len(rows) != len(tables["plan_years"]) or len(rows) != len(units) * plan["years"]:
        found.append("not one row for each unit and year")
    for name, unit in units.items():
        found += unit_years(unit, [rows[name, year] for year in years], plan, season)
    for year in years:
        of_year = {name: rows[name, year] for name in units}
        found += shared(year, of_year, units, plan, tables["plan_edges"])
        found += figures(year, of_year, units, plan, tables)
    summary = tables["plan_summary"][0]
    found += sown(rows, units, years, summary["own_seed_ac"])
    if plan["own_seed_ac"] not in (None, summary["own_seed_ac"]):
        found.append("the setting own_seed_ac is not what the plan counts")
    if summary["value_usd"] > summary["bound_usd"] + NEAR:
        found.append("the plan is worth more than its bound")
    return found


def settled(row):
    return row["reason"] == "fixed"


def unit_years(unit, rows, plan, season):
    """Rules between the years of one unit; what is fixed may break them."""
    name, found = unit["unit_id"], []
    treatments = [row["treatment"] for row in rows]
    since = unit["years_since_burn"] if unit["burn_on_record"] else math.inf
    burned = f"burn_{unit['last_burn_time']}" if unit["last_burn_time"] else None
    rested, before = unit["rested_seasons"], unit["last_grazed"]
    bare = unit["state"] == "cropped"
    young = unit["years_since_seeding"] if unit["state"] == "establishing" else None
    if young is not None and young < season["establishment_years"]:
        since, burned, rested, before = math.inf, None, 0, None
    codes = (unit["closed"] or "").split("; ")
    closed = dict(zip(codes, (unit["closed_until"] or "0").split("; "), strict=True))
    for row, treatment in zip(rows, treatments, strict=True):
        where, free = f"{name} {row['year']} {treatment}", not settled(row)
        if unit["undecided_by"]:
            if free and (treatment != "undecided" or row["burned_ac"] or row["supply_aum"]):
                found.append(f"{where}: chosen though {unit['undecided_by']}")
            continue
        if treatment == "undecided" or not row["reason"]:
            found.append(f"{where}: no choice or no reason")
        if free and row["year"] <= int(closed.get(treatment, 0)):
            found.append(f"{where}: closed by a limit")
        establishing = young is not None and young < season["establishment_years"]
        if free and bare and treatment not in ("seed", "wait"):
            found.append(f"{where}: no sward")
        if free and not bare and treatment in ("seed", "wait"):
            found.append(f"{where}: has a sward")
        if free and establishing and treatment != "rest":
            found.append(f"{where}: sown too lately")
        if is_burn(treatment):
            if free and (unit["no_burn_by"] or treatment[5:] not in plan["burn_times"]):
                found.append(f"{where}: not to be burned then")
            if free and since < unit["least_years"]:
                found.append(f"{where}: burned {since} years ago")
            if free and rested < unit["rest_years"]:
                found.append(f"{where}: rested {rested} seasons")
            if free and plan["vary_burn_time"] and treatment == burned:
                found.append(f"{where}: same time as the last burn")
            since, burned, rested, before, young = 1, treatment, 0, None, None
            continue
        if treatment.startswith("graze") or treatment == "hay":
            if free and since <= plan["burned_rest_years"]:
                found.append(f"{where}: burned {since} years ago")
            if free and treatment == before:
                found.append(f"{where}: the same as the year before")
            if treatment.startswith("graze") and free and unit["supply_aum"] is None:
                found.append(f"{where}: forage not known")
            rested, before = 0, treatment
        elif treatment == "seed" and bare:
            bare, young, before, burned = False, 1, None, None
            continue
        elif not bare:
            rested, before = rested + 1, None
        since += 1
        if young is not None:
            young += 1
            if young >= season["establishment_years"]:
                since, rested, young = young, young, None
    return found


def shared(year, of_year, units, plan, edges):
    """Rules that the units of a year share; what is fixed may break them, and nothing beside it."""
    found = []
    burning = {name for name, row in of_year.items() if is_burn(row["treatment"])}
    chosen = {name for name in burning if not settled(of_year[name])}
    caps = {None: plan["most_burned_pct"]} | plan["most_cover_burned_pct"]
    for cover, pct in caps.items():
        ground = [u for u in units.values() if u["state"] != "cropped"]
        inside = {n for n, u in units.items() if cover is None or u["cover"] == cover}
        base = sum(u["burnable_ac"] for u in ground if cover is None or u["cover"] == cover)
        most = base * pct / 100 * (1 - plan["margin_pct"] / 100)
        acres = sum(units[name]["burnable_ac"] for name in burning & inside)
        if acres > most + NEAR and chosen & inside:
            found.append(f"{year}: {acres:.1f} ac of {cover or 'all'} burn, {most:.1f} may")
    days = sum(
        max(1, math.ceil(units[name]["burnable_ac"] / plan["burn_day_ac"] - 1e-9))
        for name in burning
    )
    if plan["crew_days"] and days > plan["crew_days"] + NEAR and chosen:
        found.append(f"{year}: {days} crew days, {plan['crew_days']} may be")
    cost = sum(row["cost_usd"] or 0 for row in of_year.values())
    if plan["money_usd"] is not None and cost > plan["money_usd"] + 0.01 and chosen:
        found.append(f"{year}: costs {cost:.0f} $, {plan['money_usd']} may be")
    beside = defaultdict(set)
    for edge in edges:
        if edge["neighbor"]:
            beside[edge["unit_id"]].add(edge["neighbor"])
            beside[edge["neighbor"]].add(edge["unit_id"])
    for name in sorted(chosen):
        if plan["refuge"] == "neighbor" and beside[name] and beside[name] <= burning:
            found.append(f"{year} {name}: no neighbor stays unburned")
        if plan["refuge"] == "apart" and beside[name] & burning:
            found.append(f"{year} {name}: touches another burn")
    return found


def figures(year, of_year, units, plan, tables):
    """Feet, crew days, acres and feed of a year against what the rows and edges say."""
    found = []
    total = next(row for row in tables["plan_totals"] if row["year"] == year)
    line = 0.0
    for edge in tables["plan_edges"]:
        here = of_year[edge["unit_id"]]["treatment"]
        there = of_year[edge["neighbor"]]["treatment"] if edge["neighbor"] else "nothing"
        one = here if is_burn(here) else None
        other = there if is_burn(there) else None
        line += edge["line_ft"] * (one != other)
    supply = {"graze_early": plan["early_supply_pct"], "graze_late": plan["late_supply_pct"]}
    fed = sum(
        (units[name]["supply_aum"] or 0) * supply.get(row["treatment"], 0) / 100
        for name, row in of_year.items()
    )
    acres = sum(units[n]["burnable_ac"] for n, row in of_year.items() if is_burn(row["treatment"]))
    for what, wanted, told in (
        ("line_ft", line, total["line_ft"]),
        ("supply_aum", fed, total["supply_aum"]),
        ("burned_ac", acres, total["burned_ac"]),
    ):
        if abs(wanted - told) > 1e-6 * max(1.0, abs(wanted)):
            found.append(f"{year}: {what} {told} told, {wanted} reckoned")
    if total["demand_aum"] is not None:
        short = max(0.0, total["demand_aum"] - fed)
        if abs(short - total["short_aum"]) > 1e-6 * max(1.0, short):
            found.append(f"{year}: short_aum {total['short_aum']} told, {short} reckoned")
    return found


def sown(rows, units, years, own_seed_ac):
    """Fields sown by the plan's own choice against the seed of own strips up to each year."""
    found, acres = [], 0.0
    for count, year in enumerate(years, 1):
        acres += sum(
            units[name]["burnable_ac"]
            for name in units
            if rows[name, year]["treatment"] == "seed" and not settled(rows[name, year])
        )
        if acres > own_seed_ac * count + NEAR:
            found.append(f"{year}: {acres:.1f} ac sown by then, seed for less")
    return found
