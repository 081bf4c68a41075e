"""Burn weather: hours counted against a prescription, by hand; no prescription, no count."""

import pandas as pd
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.fire.smoke import burn_weather
from pipeline.fire.smoke.burn_weather import find_weather
from pipeline.fire.smoke.settings import WeatherSettings
from tests.literal_layers import literal_layer
from tests.made_season import square_units

# Ranges of K-State (temperature 50 to 80, humidity 40 to 70, wind 5 to 15) as a prescription.
KSTATE = WeatherSettings(
    lowest_temperature_f=50,
    highest_temperature_f=80,
    lowest_humidity_pct=40,
    highest_humidity_pct=70,
    lowest_wind_mph=5,
    highest_wind_mph=15,
    wind_height_ft=20,
    least_run=3,
)


def hours(day, readings, first=9):
    """Rows of the weather table: temperature, humidity, wind and its direction, hour by hour."""
    times = [{"time": f"{day}T{first + n:02d}:00"} for n in range(len(readings))]
    rows = [dict(zip(burn_weather.READINGS, reading, strict=True)) for reading in readings]
    return [time | row for time, row in zip(times, rows, strict=True)]


GOOD, HOT, CALM = (60, 50, 10, 180), (85, 50, 10, 180), (60, 50, 2, 180)


def fuel_window(first="2027-03-01", last="2027-05-15"):
    frame = pd.DataFrame({"unit_id": ["A"], "burn_from": [first], "burn_until": [last]})
    return frame.assign(**{c: pd.to_datetime(frame[c]) for c in ("burn_from", "burn_until")})


def counted(rows, settings=KSTATE, fuel=None, arcs=None):
    """Burn weather of the unit A; ``arcs`` are the winds that carry its smoke onto the place."""
    house = [{"kind": "house"}] if arcs is not None else []
    places = literal_layer("smoke_points", house, [shapely.Point(0, 0)] * len(house), 5070)
    told = [
        {"unit_id": "A", "place_id": 1, "arc": n, "from_deg": first, "to_deg": last}
        for n, (first, last) in enumerate(arcs or [])
    ]
    fuel = fuel_window() if fuel is None else fuel
    weather = literal_layer("hourly_weather", rows)
    arcs = literal_layer("smoke_arcs", told)
    frame = burn_weather.count_burn_weather(fuel, places, arcs, weather, settings)
    return conform(frame, LAYERS["burn_weather"])


def test_hours_and_days_by_hand():
    rows = hours("2026-04-10", [GOOD, GOOD, GOOD, HOT, GOOD]) + hours(
        "2026-04-11", [GOOD, CALM] * 4
    )
    row = counted(rows).iloc[0]
    assert (row["year"], row["month"], row["hours_read"], row["hours_in"]) == (2026, 4, 13, 8)
    assert row["days_in"] == 1, "three hours on end on the 10th, single ones on the 11th"
    assert pd.isna(row["hours_in_and_wind"]), "no smoke points, no word on winds"


def test_hours_on_end_end_at_an_hour_that_is_missing():
    rows = hours("2026-04-10", [GOOD] * 2) + hours("2026-04-10", [GOOD] * 2, first=12)
    row = counted(rows).iloc[0]
    assert (row["hours_in"], row["days_in"]) == (4, 0)


@pytest.mark.parametrize(
    ("edge", "inside"),
    [((50, 40, 5, 0), 1), ((80, 70, 15, 0), 1), ((49, 40, 5, 0), 0), ((80, 71, 15, 0), 0)],
)
def test_both_ends_of_a_range_count(edge, inside):
    assert counted(hours("2026-04-10", [edge])).iloc[0]["hours_in"] == inside


def test_only_the_window_and_the_hours_of_the_day_count():
    rows = hours("2026-02-27", [GOOD]) + hours("2026-05-15", [GOOD]) + hours("2026-05-16", [GOOD])
    assert counted(rows)["hours_in"].sum() == 1
    assert counted(
        hours("2026-04-10", [GOOD], first=8) + hours("2026-04-10", [GOOD], first=17)
    ).empty


def test_hour_with_a_gap_is_not_read():
    row = counted(hours("2026-04-10", [GOOD, (60, None, 10, 180)])).iloc[0]
    assert (row["hours_read"], row["hours_in"]) == (1, 1)


@pytest.mark.parametrize(
    "left_out", ["wind_height_ft", "temperature_f", "humidity_pct", "wind_mph"]
)
def test_incomplete_prescription_counts_nothing(left_out):
    told = {k: v for k, v in KSTATE.model_dump().items() if not k.endswith(left_out)}
    settings = WeatherSettings(**told)
    assert any(left_out in need for need in burn_weather.prescription_needs(settings))
    assert counted(hours("2026-04-10", [GOOD]), settings).empty


def test_winds_of_the_prescription_go_round_north():
    told = KSTATE.model_dump() | {"first_wind_from_deg": 315, "last_wind_from_deg": 45}
    readings = [(60, 50, 10, wind) for wind in (300, 315, 0, 360, 45, 60)]
    weather = pd.DataFrame(readings, columns=list(burn_weather.READINGS))
    inside = burn_weather.in_prescription(weather, WeatherSettings(**told))
    assert list(inside) == [False, True, True, True, True, False]


@pytest.mark.parametrize(
    ("arcs", "left"),
    [([], 4), ([(170, 191)], 2), ([(350, 10)], 3), ([(0, 360)], 0), ([(170, 180), (355, 5)], 2)],
)
def test_hours_whose_wind_carries_smoke_onto_a_place_are_taken_out(arcs, left):
    rows = hours("2026-04-10", [(60, 50, 10, wind) for wind in (180, 191, 192, 360)])
    row = counted(rows, arcs=arcs).iloc[0]
    assert (row["hours_in"], row["hours_in_and_wind"]) == (4, left)


READING = st.tuples(st.floats(0, 100), st.floats(0, 100), st.floats(0, 30))


@given(st.lists(READING, max_size=20), st.floats(0, 30), st.floats(0, 30))
def test_wider_prescription_never_counts_fewer(readings, down, up):
    weather = pd.DataFrame([(*r, 0.0) for r in readings], columns=list(burn_weather.READINGS))
    wider = {"lowest_temperature_f": 50 - down, "highest_temperature_f": 80 + up}
    wide = WeatherSettings(**(KSTATE.model_dump() | wider))
    narrow = burn_weather.in_prescription(weather, KSTATE)
    assert (burn_weather.in_prescription(weather, wide) >= narrow).all()


def test_weather_without_a_prescription_says_what_it_needs():
    units = square_units(A=80)
    weather = literal_layer("hourly_weather", [{"time": "2026-04-10T12:00", "temperature_f": 60}])
    found = conform(find_weather(units, weather, WeatherSettings()), LAYERS["weather_findings"])
    assert "needs wind_height_ft" in found["message"][0]
