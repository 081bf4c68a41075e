"""Burns of the log, the pictures around them, and the ground held against them.

The spans of days are the defaults of the settings (see their sources); the rest is made up.
"""

import numpy as np
import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.greenness.logged_burns import (
    PictureDates,
    UnburnedUnits,
    left_alone,
    logged_burns,
    pictures_around,
    spans_of,
    unburned_units,
    unclear_masks,
    undated_burns,
)
from pipeline.greenness.settings import GreennessSettings
from tests.made_season import log_of

SETTINGS = GreennessSettings()
DAYS = ("2026-03-10", "2026-04-02", "2026-04-18", "2026-05-20")
BURN = pd.Timestamp("2026-04-14")
PAIR = PictureDates(pd.Timestamp("2026-04-02"), pd.Timestamp("2026-04-18"))


def stacks(*days, span_days=1):
    return pd.DataFrame({"date": pd.to_datetime(list(days)), "span_days": span_days})


def log(*rows):
    return log_of("unit_id start end kind", *rows)


def comparison(burned, references, name="c", before="2025-07-20", after="2026-07-20"):
    rows = [(u, "burned") for u in burned] + [(u, "reference") for u in references]
    frame = pd.DataFrame(rows, columns=["unit_id", "role"])
    return frame.assign(comparison=name, before=pd.Timestamp(before), after=pd.Timestamp(after))


def around(*days, **more):
    return pictures_around(BURN, BURN, stacks(*days, **more), SETTINGS)


def test_the_nearest_pictures_around_the_burn_are_taken():
    nearest = around(*DAYS)
    assert (nearest.dates, nearest.lacking) == (PAIR, None)
    assert (nearest.before_days, nearest.after_days) == (12, 4)
    assert around(*reversed(DAYS)) == nearest


def test_each_side_of_the_burn_has_its_own_limit():
    old = around(DAYS[0], DAYS[2])
    assert (old.lacking, old.before_days) == ("no_picture_before", 35)
    late = around(DAYS[1], DAYS[3])
    assert (late.lacking, late.after_days) == ("no_picture_after", 36)
    none = around()
    assert none.lacking == "no_pictures"
    assert np.isnan([none.before_days, none.after_days]).all()


def test_picture_of_the_day_of_the_burn_shows_neither_side():
    assert around(DAYS[1], "2026-04-14", DAYS[2]).dates == PAIR


def test_composites_are_never_used_and_are_told_where_they_are_near():
    composites = around(*DAYS, span_days=16)
    assert (composites.lacking, composites.composites_near) == ("no_pictures", True)
    assert not around("2025-09-01", span_days=16).composites_near
    begun_before = pictures_around(BURN, BURN, stacks("2026-03-10", span_days=8), SETTINGS)
    assert begun_before.composites_near, "its last day, 17 March, is within 30 days"
    mixed = pd.concat([stacks(DAYS[0], DAYS[2]), stacks(DAYS[1], span_days=16)])
    assert pictures_around(BURN, BURN, mixed, SETTINGS).before_days == 35


def test_every_burn_after_the_first_picture_has_a_row_and_no_other():
    treatments = log(
        ("A", "2026-04-14", None, "burn"),
        ("A", "2026-04-14", "2026-04-15", "burn"),
        ("A", "2026-10-01", None, "burn"),
        ("B", "2025-07-20", None, "burn"),
        ("B", "2026-04-14", None, "mow"),
        ("C", "2025-07-21", None, "burn"),
    )
    burns = logged_burns(treatments, stacks("2025-07-20", "2026-07-20"))
    told = list(zip(burns["unit_id"], burns["burned"].dt.strftime("%Y-%m-%d"), strict=True))
    assert told == [("A", "2026-04-14"), ("A", "2026-10-01"), ("C", "2025-07-21")]
    assert burns["end"].iloc[0] == pd.Timestamp("2026-04-15")
    assert logged_burns(treatments, stacks()).empty
    assert logged_burns(empty(LAYERS["treatment_log"]), stacks("2025-07-20")).empty


def test_burned_unit_of_a_comparison_without_a_burn_in_the_log_is_told():
    compared = pd.concat([comparison("AB", "C"), comparison("A", "C", "d", "2024-07-20")])
    treatments = log(("B", "2026-04-14", None, "burn"), ("A", "2024-09-01", None, "burn"))
    undated = undated_burns(compared, treatments)
    assert undated["unit_id"].tolist() == ["A"]
    assert spans_of(undated) == "2025-07-20 to 2026-07-20"


UNITS = pd.DataFrame({"unit_id": list("ABCDEF"), "cover": ["p", "p", "p", "q", "q", None]})


def groups(unit_id, chosen, treatments):
    burn = pd.Series({"unit_id": unit_id, "burned": BURN, "end": BURN})
    undated = undated_burns(chosen, treatments)
    alone = left_alone(treatments, undated, PAIR, SETTINGS)
    return list(unburned_units(burn, UNITS, chosen, alone))


def alike(unit_ids):
    return UnburnedUnits(tuple(unit_ids))


def other(unit_ids):
    return UnburnedUnits(tuple(unit_ids), other_cover=True)


def test_unburned_ground_is_looked_for_in_the_comparison_then_in_the_cover_then_anywhere():
    treatments = log(("A", "2026-04-14", None, "burn"), ("E", "2026-04-16", None, "mow"))
    found = groups("A", comparison("A", "CDE"), treatments)
    assert found == [alike("CD"), alike("BC"), other("BCDF")]


def test_without_a_comparison_of_the_burn_its_own_cover_is_the_first_choice():
    treatments = log(("A", "2026-04-14", None, "burn"))
    other_year = comparison("A", "D", before="2024-07-20", after="2025-07-20")
    later = comparison("A", "D", before="2026-04-14")
    for compared in (comparison("B", "D"), comparison("", ""), other_year, later):
        assert groups("A", compared, treatments)[0] == alike("")
    assert groups("A", other_year, treatments)[1] == alike("BC")


def test_ground_of_no_stated_cover_is_like_no_other():
    treatments = log(("F", "2026-04-14", None, "burn"))
    own = groups("F", comparison("", ""), treatments)
    assert own == [alike(""), alike(""), other("ABCDE")]


@pytest.mark.parametrize(
    ("start", "end", "kind", "free"),
    [
        ("2026-04-02", None, "mow", False),
        ("2026-04-18", None, "mow", False),
        ("2026-04-01", None, "mow", True),
        ("2026-04-19", None, "mow", True),
        ("2026-03-01", "2026-10-05", "graze", False),
        ("2026-03-01", "2026-10-05", "rest", True),
        ("2026-03-20", None, "burn", False),
        ("2026-03-02", None, "burn", True),
    ],
)
def test_ground_left_alone(start, end, kind, free):
    treatments = log(("A", "2026-04-14", None, "burn"), ("B", start, end, kind))
    assert ("B" in groups("A", comparison("A", "B"), treatments)[0].unit_ids) is free


def test_unit_burned_on_an_unknown_day_is_not_unburned_ground():
    treatments = log(("A", "2026-04-14", None, "burn"))
    found = groups("A", comparison("AB", ""), treatments)
    assert found[1] == alike("C")
    earlier = comparison("B", "", "d", "2025-05-01", "2026-04-01")
    assert groups("A", earlier, treatments)[1] == alike("BC")


def test_what_else_was_done_to_the_burned_unit():
    treatments = log(
        ("A", "2026-04-14", None, "burn"),
        ("A", "2026-04-16", None, "mow"),
        ("A", "2026-03-20", None, "burn"),
        ("B", "2026-04-16", None, "hay"),
    )
    alone = left_alone(treatments, undated_burns(comparison("", ""), treatments), PAIR, SETTINGS)
    assert alone.other_work("A", BURN) == "burn 2026-03-20; mow 2026-04-16"
    assert alone.other_work("C", BURN) is None


def test_rule_of_a_quality_raster_that_says_nothing_of_burned_ground_is_a_caution():
    layer = LAYERS["mask_presets"]
    rows = [
        ("scl", "keep_value", 2, "dark", True, "t"),
        ("own", "keep_value", 0, "good", None, "t"),
    ]
    presets = conform(pd.DataFrame(rows, columns=layer.column_names), layer)
    tiles = pd.DataFrame(
        {
            "name": ["a", "b", "c", "d"],
            "mask_path": ["m", "m", "m", None],
            "mask_preset": ["scl", "own", None, None],
        }
    )
    assert unclear_masks(tiles.iloc[[0, 3]], presets) is None
    assert unclear_masks(tiles, presets) == "b, c"
