"""Did the fire do it? Log, comparison and pictures together: what differed besides the fire.

Made cases in which the truth is known. What grazing, haying and a wet year do to NDVI is made up,
of a size that is common practice, no source.
"""

import numpy as np
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.greenness.change import compare_greenness, pool_burns
from pipeline.greenness.comparison_findings import comparison_findings
from tests.literal_layers import literal_layer
from tests.made_comparison import (
    BURNED,
    DEFAULTS,
    NO_TREATMENTS,
    REFERENCES,
    compared,
    comparison,
)
from tests.made_season import log_of

BURN = ("U0", "2026-04-14", "2026-04-14", "burn")


def log(*rows):
    return log_of("unit_id start end kind", BURN, *rows)


def grazed(*units, year=2026):
    return [(unit, f"{year}-05-01", f"{year}-06-25", "graze") for unit in units]


def messages(treatments, **told):
    units, *_ = comparison(**told)
    table = compared(treatments=treatments, **told).reset_index()
    found = comparison_findings(table, units, treatments, DEFAULTS)
    return [finding["message"] for finding in found]


def test_grazed_references_set_no_mean():
    # Two references lost .08 to cattle; without them the burned unit did as the others.
    pairs = [(0.41, 0.48), *REFERENCES[:3], (0.40, 0.38), (0.42, 0.42)]
    treatments = log(*grazed("U4", "U5"))
    row = compared(burned=pairs[:1], references=pairs[1:], treatments=treatments).loc["U0"]
    assert row["references_used"] == "U1, U2, U3"
    assert row["references_handled_otherwise"] == "U4, U5"
    assert row["verdict"] == "within"
    assert abs(row["plain_difference"]) < 0.005
    blind = compared(burned=pairs[:1], references=pairs[1:]).loc["U0"]
    assert blind["plain_difference"] > 0.03, "what it was held against before"


def test_grazing_that_ended_before_the_first_picture_counts():
    # Ground that was grazed before the first picture grows back without any fire.
    for year, ended, differs in ((2025, "2025-06-25", True), (2024, "2024-07-19", False)):
        row = ("U4", f"{year}-05-01", ended, "graze")
        told = compared(treatments=log(row)).loc["U0"]
        assert (told["references"] == 4) == differs, year
    alike = log(*grazed("U0", "U1", "U2", "U3", "U4", "U5", year=2025))
    assert compared(treatments=alike).loc["U0", "references"] == 5
    late = log(*grazed("U0", year=2025), *grazed("U1", "U2", "U3", "U4", "U5", year=2026))
    assert compared(treatments=late).loc["U0", "confounded_by"] == "handled_otherwise"


@pytest.mark.parametrize("kind", ["graze", "hay", "mow", "spray", "seed"])
def test_too_few_references_left_alone_give_no_verdict_and_are_named(kind):
    others = [(unit, "2025-06-10", "2025-06-12", kind) for unit in ("U1", "U2", "U3")]
    row = compared(treatments=log(*others)).loc["U0"]
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "handled_otherwise")
    assert row["references_handled_otherwise"] == "U1, U2, U3"
    assert row["references_used"] == "U1, U2, U3, U4, U5", "the figures are shown"
    assert row["interval_low"] > 0
    said = messages(log(*others))
    assert any("U1, U2, U3; too few others are left" in message for message in said)


def test_rest_is_no_handling():
    rest = [(f"U{k}", "2025-01-01", "2025-12-31", "rest") for k in range(1, 6)]
    assert compared(treatments=log(*rest)).loc["U0", "verdict"] == "greener"


def test_units_handled_alike_that_are_not_named_are_proposed():
    others = [(0.42, 0.49), (0.40, 0.47)]
    treatments = log(*grazed("U1", "U2", "U3", "U4"), *grazed("N1"))
    said = messages(treatments, others=others)
    assert "handled like U0 and not burned, but not named as references: N0" in said


def test_other_cover_is_told():
    def covered(units):
        kinds = ["native", "native", None, "brome", "brome", "native"]
        return units.assign(cover=kinds)

    row = compared(change_units=covered).loc["U0"]
    assert row["references_other_cover"] == "U3, U4"
    assert (row["references"], row["verdict"]) == (3, "greener")
    brome = compared(change_units=lambda units: units.assign(cover=["native", *["brome"] * 5]))
    assert brome.loc["U0", "confounded_by"] == "other_cover"


def test_hayed_reference_without_a_record_is_named():
    hayed = [*REFERENCES[:4], (0.42, 0.35)]
    table = compared(references=hayed)
    assert table.loc["U0", "carrying_reference"] == "U5"
    assert any("without U5 the references of U0" in m for m in messages(log(), references=hayed))


def test_brownest_unit_that_catches_up_is_not_called_greener():
    # All units go back to .50 but for .01: the brownest gains most, with or without a fire.
    chance = np.random.default_rng(4)
    before = np.array([0.36, 0.45, 0.50, 0.55, 0.60])
    after = 0.5 + chance.normal(0, 0.01, 5)
    pairs = list(zip(before, after, strict=True))
    row = compared(burned=pairs[:1], references=pairs[1:]).loc["U0"]
    assert row["plain_difference"] > 0.1
    assert row["verdict"] in ("within", "below_noise", "confounded")
    assert row["carry_over"] < 0.3


def test_small_unit_against_large_ones_gets_no_verdict():
    def shrunk(units):
        small = units.geometry.scale(0.3, 0.3).where(units["unit_id"] == "U0", units.geometry)
        return units.set_geometry(small)

    row = compared(change_units=shrunk).loc["U0"]
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "size_differs")
    row = compared(
        change_units=lambda units: units.set_geometry(units.geometry.scale(0.3, 0.3))
    ).loc["U0"]
    assert row["verdict"] == "greener"


def test_references_together_far_away_get_no_verdict():
    def moved(units):
        away = units.geometry.translate(-9000, 0).where(units["unit_id"] == "U0", units.geometry)
        return units.set_geometry(away)

    row = compared(change_units=moved).loc["U0"]
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "place_differs")


def test_wet_year_may_have_done_it():
    wet = [(before, after + 0.14) for before, after in (BURNED, *REFERENCES)]
    row = compared(burned=wet[:1], references=wet[1:]).loc["U0"]
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "year_differs")


def share_of(pct, low=None, high=None):
    row = {"unit_id": "U0", "burned": "2026-04-14", "burned_pct": pct, "verdict": "measured"}
    row |= {"low_pct": pct if low is None else low, "high_pct": pct if high is None else high}
    row |= {"mostly_pct": pct, "valid_pct": 100.0}
    return literal_layer("burned_shares", [row])


def test_unit_burned_in_part_tells_of_ground_that_burned():
    # .08 on 47 percent of the unit, worked by hand.
    pairs = [(0.42, 0.49 + 0.47 * 0.08), *((0.42, 0.42 + b - a) for a, b in REFERENCES)]
    told = {"burned": pairs[:1], "references": pairs[1:], "treatments": log()}
    row = compared(shares=share_of(47.0), **told).loc["U0"]
    assert row["change_vs_reference"] == pytest.approx(0.08)
    assert (row["burned_pct"], row["burned_from"]) == (47.0, "pictures")
    assert row["interval_low"] == pytest.approx(0.08 - 0.030414 / 0.47, abs=1e-5)
    assert row["relative_pct"] == pytest.approx(100 * 0.08 / 0.49)
    whole = compared(**told).loc["U0"]
    assert whole["change_vs_reference"] == pytest.approx(0.47 * 0.08)
    assert (whole["burned_pct"], whole["burned_from"]) == (100.0, "assumed")
    little = compared(shares=share_of(29.0), **told).loc["U0"]
    assert (little["verdict"], little["reason"]) == ("cannot_judge", "little_burned")


def test_share_of_the_log_or_the_map_where_no_picture_tells_it():
    units, *_ = comparison()
    acres = float(units["burnable_ac"].iloc[0])
    columns = "unit_id start kind acres_treated_ac unburned_inside_pct"
    treatments = log_of(columns, ("U0", "2026-04-14", "burn", 0.8 * acres, 25.0))
    row = compared(treatments=treatments).loc["U0"]
    assert (row["burned_pct"], row["burned_from"]) == (pytest.approx(60.0), "log")
    west = shapely.box(-500, -500, 300, 900)
    areas = literal_layer(
        "burned_areas", [{"unit_id": "U0", "date": "2026-04-14"}], [west], units.crs
    )
    row = compared(treatments=log(), areas=areas).loc["U0"]
    assert (row["burned_pct"], row["burned_from"]) == (pytest.approx(75.0), "map")
    measured = compared(treatments=treatments, shares=share_of(90.0), areas=areas).loc["U0"]
    assert measured["burned_from"] == "pictures"


def test_half_burned_unit_of_unknown_share_gets_no_verdict():
    row = compared(shares=share_of(50.0, 20.0, 80.0), treatments=log(), burned=[(0.41, 0.58)])
    row = row.loc["U0"]
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "share_unknown")
    assert not row["burned_known"]


def test_several_burned_units_are_pooled():
    # Two dates of one start, by hand: t(4)·.01·√(1/2 + 1/5) = .023229.
    pairs = [(0.42, 0.42 + c) for c in (0.14, 0.12, 0.07, 0.08, 0.06, 0.06, 0.08)]
    told = {"burned": pairs[:2], "references": pairs[2:]}
    (row,) = compared(pooled=True, **told).to_dict("records")
    assert (row["unit_ids"], row["units"], row["references"]) == ("U0, U1", 2, 5)
    assert row["change_vs_reference"] == pytest.approx(0.06)
    assert row["interval_low"] == pytest.approx(0.036771, abs=5e-7)
    assert row["verdict"] == "greener"
    unlike = log_of("unit_id start end kind", *grazed("U1"))
    (row,) = compared(pooled=True, treatments=unlike, **told).to_dict("records")
    assert (row["verdict"], row["confounded_by"]) == ("confounded", "handled_otherwise")
    gone = compared(pooled=True, reason=["too_narrow", *[None] * 6], **told)
    assert gone["unit_ids"].tolist() == ["U1"]
    apart = compared(pooled=True, after="2026-09-20", **told)
    assert apart.empty
    (row,) = compared(pooled=True, references=REFERENCES[:1], burned=pairs[:2]).to_dict("records")
    assert (row["verdict"], row["references_used"]) == ("no_interval", "U2")
    assert row["change_vs_reference"] == pytest.approx(0.06)
    assert compared(pooled=True, references=[]).empty


@pytest.mark.parametrize("name", ["North 40, east", "U0 x"])
def test_names_of_any_kind_are_kept(name):
    units, comparisons, changes, scenes = (
        frame.assign(unit_id=frame["unit_id"].replace("U1", name)) for frame in comparison()
    )
    treatments = log_of("unit_id start end kind", (name, "2025-06-01", "2025-06-02", "hay"))
    shares, areas = empty(LAYERS["burned_shares"]), empty(LAYERS["burned_areas"], units.crs)
    table = compare_greenness(
        units, comparisons, changes, scenes, shares, areas, treatments, DEFAULTS
    )
    row = table.set_index("unit_id").loc["U0"]
    assert row["references_handled_otherwise"] == name


def test_a_unit_that_another_comparison_calls_burned_is_no_unburned_one():
    units, comparisons, changes, scenes = comparison(others=[(0.42, 0.49), (0.41, 0.48)])
    other = comparisons.iloc[:1].assign(comparison="west", unit_id="N0")
    both = pd.concat([comparisons, other], ignore_index=True)
    shares, areas = empty(LAYERS["burned_shares"]), empty(LAYERS["burned_areas"], units.crs)
    given = (units, both, changes, scenes, shares, areas, NO_TREATMENTS, DEFAULTS)
    table = compare_greenness(*given).set_index("unit_id")
    assert table.loc["U0", "spread_units"] == 6
    pooled = pool_burns(
        units, both, changes, scenes, compare_greenness(*given), NO_TREATMENTS, DEFAULTS
    )
    assert pooled["spread_units"].tolist() == [6]


def test_work_is_told_to_be_alike_by_year_and_by_side_of_the_first_picture():
    def used(*rows):
        return int(compared(treatments=log(*rows)).loc["U0", "references"])

    assert used(("U0", "2025-07-21", "2025-07-21", "hay")) == 5, "too few: all are shown"
    hayed = [(f"U{k}", "2025-07-21", "2025-07-21", "hay") for k in range(5)]
    assert used(*hayed) == 4
    before = [(f"U{k}", "2025-07-19", "2025-07-19", "hay") for k in (3, 4, 5)]
    assert used(*hayed[:3], *before) == 5, "too few again"
    row = compared(treatments=log(*hayed[:3], *before)).loc["U0"]
    assert row["references_handled_otherwise"] == "U3, U4, U5"
    spring = [(f"U{k}", "2025-05-01", "2025-07-10", "graze") for k in range(5)]
    season = ("U5", "2025-05-10", "2025-10-05", "graze")
    assert used(*spring) == 4
    row = compared(treatments=log(*spring, season)).loc["U0"]
    assert row["references_handled_otherwise"] == "U5", "grazed on after the first picture"
    every_year = [
        (f"U{k}", f"{year}-05-01", f"{year}-10-{5 + k:02d}", "graze")
        for k in range(6)
        for year in (2024, 2025, 2026)
    ]
    assert used(*every_year) == 5


def test_other_units_need_as_many_usable_pixels_as_references():
    frames = comparison(others=[(0.42, 0.49)])
    shares, areas = empty(LAYERS["burned_shares"]), empty(LAYERS["burned_areas"], 32614)
    for valid_pct, units in ((80.0, 6), (79.0, 5)):
        scenes = frames[3].assign(valid_pct=valid_pct)
        table = compare_greenness(
            *frames[:3], scenes, shares, areas, NO_TREATMENTS, DEFAULTS
        ).set_index("unit_id")
        assert table.loc["U0", "spread_units"] == units


def test_findings_tell_what_a_comparison_rests_on():
    on_day = log_of("unit_id start end kind", ("U0", "2025-07-20", "2025-07-20", "burn"))
    (said,) = messages(on_day)
    assert said == (
        "U0 cannot be judged: it burned on the day of the picture before, 2025-07-20: nobody "
        "knows which was first; take another picture"
    )
    burned = log(("U1", "2026-04-14", "2026-04-14", "burn"))
    few, unusable = messages(burned)
    assert few.startswith("4 usable reference units; 3 are needed for an interval")
    assert unusable == (
        "not used as references: U1 (burned on 2026-04-14: it is no unburned ground)"
    )
    (chance,) = messages(NO_TREATMENTS, burned=[BURNED, (0.42, 0.5)])
    assert chance.startswith("2 burned units were judged, each at 95 percent: about 0.1 would")
    assert messages(log()) == []
