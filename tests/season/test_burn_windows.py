"""Ends of burn windows against dates of the trade, and courses of spring against daily weather."""

import csv
from pathlib import Path

import pandas as pd
import pytest

from pipeline.season.fuel.green_up import dates_at, rows_of_place, sums_between
from pipeline.season.fuel.settings import FuelSettings
from tests.made_season import property_row, shipped_green_up, square_units, standing_row
from tests.season.test_fuel import judged

DATA = Path(__file__).parents[1] / "data" / "season"


WEEK = pd.Timedelta(days=7)


CLOSE_DAYS = pd.Timedelta(days=5)


def table(name):
    return list(csv.DictReader((DATA / name).read_text(encoding="utf-8").splitlines()))


def day(month_day):
    return pd.Timestamp(f"2027-{month_day}")


def closes(case):
    """Row of the layer fuel of a case: half of its load is lost over winter."""
    share = case["cool_exotic_share_pct"]
    return judged(
        square_units(float(case["latitude_deg"]), A=80),
        standing_row("A", float(case["fall_lb_ac"])),
        region="shipped",
        place=property_row(region="northern plains"),
        settings=FuelSettings(cool_exotic_share_pct=float(share) if share else None),
    ).loc["A"]


@pytest.mark.parametrize(
    "case", table("burn_windows.csv"), ids=lambda c: f"{c['latitude_deg']} N {c['case']}"
)
def test_window_closes_within_a_week_of_the_dates_of_the_trade(case):
    last = closes(case)["burn_until"]
    assert day(case["closes_from"]) - WEEK <= last <= day(case["closes_to"]) + WEEK


def test_most_windows_close_between_the_dates_of_the_trade_themselves():
    cases = [c for c in table("burn_windows.csv") if c["fitted"] == "no"]
    inside = [
        c for c in cases if day(c["closes_from"]) <= closes(c)["burn_until"] <= day(c["closes_to"])
    ]
    assert len(inside) >= 15


@pytest.mark.parametrize(
    "place", table("heat_sums.csv"), ids=lambda p: f"{p['place']} {p['degree_days_f']}"
)
def test_ordinary_spring_meets_the_median_of_daily_weather(place):
    rows = rows_of_place(shipped_green_up(), property_row(region="northern plains"))
    dates = dates_at(rows, 2027, float(place["latitude_deg"]))
    days = pd.date_range("2027-01-01", "2027-07-31")
    sums = sums_between(days, dates.green_from, dates.green_full)
    reached = days[sums >= float(place["degree_days_f"])][0]
    assert abs(reached - day(place["median_day"])) <= CLOSE_DAYS
