"""What a burn window meets: published nesting seasons, contracts, and days that pass New Year."""

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.season import limits
from tests.literal_layers import literal_layer
from tests.made_season import fuel_rows, property_row, square_units

# North Dakota, primary nesting season April 15 to August 1 (NDSU release, 2008); Colorado, March
# 15 to July 15 (Weld County FSA, March 2017).
NESTING = [
    {"state": "North Dakota", "first_day": "04-15", "last_day": "08-01", "source": "NDSU 2008"},
    {"state": "Colorado", "first_day": "03-15", "last_day": "07-15", "source": "FSA 2017"},
]


def listed(first=None, last=None, state=None, unit_limits=()):
    """Table ``season_limits`` of the unit A, whose burn window has these days."""
    fuel = fuel_rows(square_units(A=80), burn_from=first, burn_until=last)
    table = limits.list_limits(
        fuel,
        literal_layer("nesting_seasons", NESTING),
        literal_layer("unit_limits", unit_limits),
        property_row(state=state),
    )
    return conform(table, LAYERS["season_limits"])


def test_limit_past_its_last_year_holds_in_no_season():
    """The last year itself counts; an empty one is no end."""
    rows = [{"unit_id": "A", "kind": "contract", "note": "n"} for _ in range(3)]
    for row, last_year in zip(rows, (2026, 2027, None), strict=True):
        row["last_year"] = last_year
    held = limits.keep_held(literal_layer("unit_limits", rows), property_row())
    assert held["last_year"].fillna(0).tolist() == [2027, 0]


@pytest.mark.parametrize(
    ("state", "first", "last", "days"),
    [
        ("North Dakota", "2027-03-01", "2027-05-20", [("04-15", "08-01")]),
        ("north dakota", "2027-03-01", "2027-04-15", [("04-15", "08-01")]),
        ("North Dakota", "2027-03-01", "2027-04-14", []),
        ("ND", "2027-03-01", "2027-04-15", [("04-15", "08-01")]),
        ("Colorado", "2027-03-01", "2027-04-14", [("03-15", "07-15")]),
        ("Ohio", "2027-03-01", "2027-05-20", []),
        (None, "2027-03-01", "2027-05-20", []),
        ("North Dakota", None, None, []),
    ],
)
def test_nesting_season_of_the_state_is_listed_where_the_window_meets_it(state, first, last, days):
    table = listed(first, last, state)
    assert list(zip(table["first_day"], table["last_day"], strict=True)) == days
    assert set(table["limit"]) <= {"nesting"}


@pytest.mark.parametrize(
    ("days", "window", "meets"),
    [
        ((None, None), ("2027-03-01", "2027-05-20"), True),
        (("05-20", "07-15"), ("2027-03-01", "2027-05-20"), True),
        (("05-21", "07-15"), ("2027-03-01", "2027-05-20"), False),
        # Passes New Year: the window meets its end in spring.
        (("11-01", "03-01"), ("2027-03-01", "2027-05-20"), True),
        (("11-01", "02-28"), ("2027-03-01", "2027-05-20"), False),
        (("05-01", "07-15"), (None, None), None),
    ],
)
def test_limit_is_listed_and_whether_the_window_meets_it(days, window, meets):
    limit = {"unit_id": "A", "kind": "contract", "note": "ask the office"}
    (row,) = listed(
        *window, unit_limits=[limit | {"first_day": days[0], "last_day": days[1]}]
    ).to_dict("records")
    assert (None if pd.isna(row["meets_window"]) else row["meets_window"]) is meets
    assert limits.limit_words(row).endswith("(no approval on record): ask the office")


def test_limits_in_words():
    nesting, approved = listed(
        "2027-03-01",
        "2027-05-20",
        "Colorado",
        [{"unit_id": "A", "kind": "easement", "approval": "letter 5", "note": "no mowing"}],
    ).to_dict("records")
    assert limits.limit_words(nesting) == (
        "nesting season 03-15 to 07-15 (Colorado): on contract land ask the county office first"
    )
    assert limits.limit_words(approved) == "easement (approval letter 5): no mowing"


@pytest.mark.parametrize(
    ("first_day", "last_day", "odd"),
    [
        ("04-15", "08-01", False),
        (None, None, False),
        ("04-15", None, True),
        ("4-15", "08-01", True),
        ("04-31", "08-01", True),
    ],
)
def test_days_that_cannot_be_read_are_faults(first_day, last_day, odd):
    days = {"first_day": first_day, "last_day": last_day}
    season = literal_layer("nesting_seasons", [{"state": "Iowa", "source": "s", **days}])
    limit = literal_layer("unit_limits", [{"unit_id": "A", "kind": "other", "note": "n", **days}])
    faults = limits.day_faults(season, limit)
    assert [fault.where for fault in faults] == [
        "[sources.nesting_seasons] Iowa",
        "[sources.unit_limits] A",
    ] * odd
