"""Faults of burns and weather, told before anything is computed."""

import numpy as np
import pandas as pd
import pytest

from pipeline.fire.faults import fire_faults, hour_faults
from tests import made_properties as made
from tests.literal_layers import literal_layer

NO_WEATHER = literal_layer("hourly_weather", [])
NO_KINDS = literal_layer("break_kinds")


def two_entries(**differing):
    """Burns of one block told in two entries, of which the second differs."""
    entry = made.burns_frame({"W": "both"})
    return pd.concat([entry, made.burns_frame({"E": "both"}).assign(**differing)])


def test_one_block_may_be_told_in_two_entries_that_agree():
    assert fire_faults(two_entries(), NO_WEATHER, NO_KINDS) == []


@pytest.mark.parametrize("name", ["wind_from_deg", "fuel_height_ft", "flame_length_ft"])
@pytest.mark.parametrize("value", [3.0, np.nan])
def test_block_told_twice_with_different_figures_is_refused(name, value):
    changed = two_entries(**{name: value})
    if changed[name].isna().all():
        changed = two_entries(**{name: 5.0})
    (fault,) = fire_faults(changed, NO_WEATHER, NO_KINDS)
    assert fault.where == '[[burns]] "both"'
    assert name in fault.found


def test_unit_in_two_blocks_is_refused():
    burns = pd.concat([made.burns_frame({"W": "a"}), made.burns_frame({"W": "b"})])
    (fault,) = fire_faults(burns, NO_WEATHER, NO_KINDS)
    assert fault.found == 'unit "W" is in 2 blocks'
    assert fault.where == "[[burns]] a, b"


@pytest.mark.parametrize(
    ("time", "word"),
    [
        ("noon", '"noon"'),
        ("2026-04-10T12:00Z", "a time zone"),
        ("2026-04-10 12:00-05:00", "a time zone"),
        ("2026-04-10T09:00", "stands twice"),
    ],
)
def test_hour_that_cannot_be_used_is_refused_with_its_text(time, word):
    hours = [{"time": "2026-04-10 09:00"}, {"time": "2026-04-10T10:00"}, {"time": time}]
    (fault,) = hour_faults(literal_layer("hourly_weather", hours))
    assert word in fault.found


def test_local_hours_are_no_fault():
    hours = [{"time": f"2026-04-10T{hour:02d}:00"} for hour in range(24)]
    assert list(hour_faults(literal_layer("hourly_weather", hours))) == []
