"""Burned against unburned ground of one unit, against exactextract on the polygons cut in two."""

from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from exactextract import exact_extract

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform
from pipeline.greenness.readings.within_unit import (
    compare_within_units,
    difference_half_width,
    find_within_units,
)
from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.autocorrelation import Range, effective_pixels
from tests.literal_layers import literal_layer
from tests.made_scenes import (
    BARE,
    LEFT,
    TOP,
    changed,
    inspected,
    smooth_greenness,
    told,
    units_frame,
    write_raster,
)

DAYS = date(2025, 7, 20), date(2026, 7, 20)
UNITS = units_frame(
    [shapely.box(LEFT + x, TOP - 557, LEFT + x + 263, TOP - 33) for x in (13.0, 310.0)]
)
SLANTED = shapely.Polygon(
    [(LEFT + x, TOP - y) for x, y in ((-50, 0), (330, 0), (255, 320), (-50, 260))]
)


def burned_areas(*rows):
    cells = [{"unit_id": unit, "date": day} for unit, day, _ in rows]
    cells = [cell | {"told_by": "perimeter"} for cell in cells]
    return literal_layer("burned_ground", cells, [shape for *_, shape in rows], 32614)


def pair(folder, gain=0.08):
    """Pictures between which the ground west of a line became greener by ``gain``."""
    old = smooth_greenness().astype("float32")
    new = old + 0.02 * np.random.default_rng(5).standard_normal(old.shape).astype("float32")
    new[:26] += gain
    paths = [write_raster(folder / name, a) for name, a in (("a.tif", old), ("b.tif", new))]
    return paths, inspected(folder, *map(told, paths, DAYS))


def compared(changes, settings=BARE, role="burned", ground=None):
    rows = changes.reset_index()
    chosen = conform(
        rows[["comparison", "unit_id"]].assign(
            before=pd.Timestamp(DAYS[0]), after=pd.Timestamp(DAYS[1]), role=role
        ),
        LAYERS["comparisons"],
    )
    ground = burned_areas() if ground is None else ground
    frame = compare_within_units(chosen, rows, ground, settings)
    found = find_within_units(UNITS, chosen, rows, settings)
    return conform(frame, LAYERS["within_unit"]).set_index("unit_id"), list(found["message"])


def test_parts_agree_with_exactextract_on_the_ground_cut_in_two(tmp_path):
    paths, scenes = pair(tmp_path)
    changes = changed(UNITS, scenes, burned=burned_areas(("U0", "2026-04-14", SLANTED)))
    parts = gpd.GeoDataFrame(
        geometry=[UNITS.geometry[0] & SLANTED, UNITS.geometry[0] - SLANTED], crs=32614
    )
    theirs = [exact_extract(str(path), parts, ["mean", "count"], output="pandas") for path in paths]
    both, notes = compared(changes)
    assert list(both.index) == ["U0"], "no perimeter lies on the other"
    assert notes == []
    row = both.loc["U0"]
    for n, part in enumerate(("burned", "unburned")):
        assert row[f"{part}_pixels"] == pytest.approx(theirs[0]["count"][n], abs=1e-3)
        change = theirs[1]["mean"][n] - theirs[0]["mean"][n]
        assert row[f"{part}_change"] == pytest.approx(change, abs=1e-6)
    assert row["before_gap"] == pytest.approx(theirs[0]["mean"][0] - theirs[0]["mean"][1], abs=1e-6)
    assert row["difference"] == pytest.approx(row["burned_change"] - row["unburned_change"])
    assert row["burned_pixels"] + row["unburned_pixels"] == pytest.approx(
        changes.loc["U0", "pixels"], abs=1e-6
    )


def test_the_unit_itself_is_measured_as_without_a_perimeter(tmp_path):
    _, scenes = pair(tmp_path)
    with_it = changed(UNITS, scenes, burned=burned_areas(("U0", "2026-04-14", SLANTED)))
    without = changed(UNITS, scenes)
    shared = ["before_mean", "after_mean", "change", "change_sd", "pixels", "effective_pixels"]
    assert with_it[shared].to_numpy() == pytest.approx(without[shared].to_numpy(), nan_ok=True)
    assert without["burned_pixels"].isna().all()


def test_perimeters_of_other_days_do_not_count_and_those_between_are_one(tmp_path):
    _, scenes = pair(tmp_path)
    west, east = (shapely.box(LEFT + x, TOP - 600, LEFT + x + 70, TOP) for x in (0, 70))
    rows = burned_areas(
        ("U0", "2026-04-14", west),
        ("U0", "2026-05-01", east),
        ("U1", "2025-07-20", shapely.box(LEFT, TOP - 600, LEFT + 440, TOP)),
        ("U1", "2026-07-20", shapely.box(LEFT, TOP - 600, LEFT + 440, TOP)),
    )
    both, _ = compared(changed(UNITS, scenes, burned=rows))
    assert list(both.index) == ["U0"]
    # 127 of 263 m of the unit's width, by 524 m, in pixels of 10 m.
    assert both.loc["U0", "burned_pixels"] == pytest.approx(12.7 * 52.4, rel=1e-6)


def test_references_and_units_that_burned_whole_have_no_row(tmp_path):
    _, scenes = pair(tmp_path)
    whole = burned_areas(("U0", "2026-04-14", UNITS.geometry[0].buffer(5)))
    assert compared(changed(UNITS, scenes, burned=whole))[0].empty
    split = changed(UNITS, scenes, burned=burned_areas(("U0", "2026-04-14", SLANTED)))
    assert compared(split, role="reference")[0].empty


def test_part_that_is_too_small_is_told_and_not_judged(tmp_path):
    _, scenes = pair(tmp_path)
    corner = shapely.box(LEFT + 13, TOP - 60, LEFT + 45, TOP - 33)
    changes = changed(UNITS, scenes, burned=burned_areas(("U0", "2026-04-14", corner)))
    both, (note,) = compared(changes)
    assert both.empty
    assert "fire took a part of U0; its burned ground has 4 whole pixels" in note


def test_edge_of_the_unit_is_left_out_and_the_line_of_the_fire_is_not(tmp_path):
    _, scenes = pair(tmp_path)
    west = shapely.box(LEFT, TOP - 600, LEFT + 144, TOP)
    settings = GreennessSettings(buffer_pixels=0.5)
    rows = changed(UNITS, scenes, settings, burned=burned_areas(("U0", "2026-04-14", west)))
    both, _ = compared(rows, settings)
    # From 18 m to 144 m and on to 271 m, 514 m high: nothing is lost along the line.
    assert both.loc["U0", "burned_pixels"] == pytest.approx(12.6 * 51.4, rel=1e-6)
    assert both.loc["U0", "unburned_pixels"] == pytest.approx(12.7 * 51.4, rel=1e-6)


def test_interval_by_the_pixels_that_are_worth_one_of_their_own(tmp_path):
    _, scenes = pair(tmp_path)
    changes = changed(UNITS, scenes, burned=burned_areas(("U0", "2026-04-14", SLANTED)))
    both, _ = compared(changes)
    of_unit, row = changes.loc["U0"], both.loc["U0"]
    alike = 1.0 if np.isnan(of_unit["alike_pct"]) else of_unit["alike_pct"] / 100
    fitted = Range(of_unit["range_m"], 1 - alike)
    counts = [
        effective_pixels(row[f"{part}_pixels"], 10.0, fitted) for part in ("burned", "unburned")
    ]
    assert row["burned_effective_pixels"] == pytest.approx(counts[0])
    half = difference_half_width((of_unit["burned_sd"], of_unit["unburned_sd"]), counts, 95.0)
    assert row["interval_high"] - row["difference"] == pytest.approx(half)
    assert row["difference"] - row["interval_low"] == pytest.approx(half)


def test_welch_interval():
    """Equal spreads and counts are Student's two samples; t tables (NIST/SEMATECH 1.3.6.7.2).

    With 5 and 5 values of sd 1 there are 8 degrees of freedom, t = 2.306; one part without spread
    leaves the degrees of the other: 4, t = 2.776.
    """
    assert difference_half_width((1.0, 1.0), (5, 5), 95) == pytest.approx(
        2.306 * np.sqrt(2 / 5), abs=5e-4
    )
    assert difference_half_width((1.0, 0.0), (5, 9), 95) == pytest.approx(
        2.776 * np.sqrt(1 / 5), abs=5e-4
    )
    assert np.isnan(difference_half_width((1.0, 1.0), (1.9, 50), 95))
    assert difference_half_width((0.0, 0.0), (5, 5), 95) == 0.0


def test_cautions(tmp_path):
    old = np.full((60, 60), 0.4, "float32")
    old[:, :14] = 0.5
    new = old + 0.05 + 0.02 * np.random.default_rng(6).standard_normal(old.shape).astype("float32")
    new[:20, :14] = np.nan
    paths = [write_raster(tmp_path / n, a) for n, a in (("a.tif", old), ("b.tif", new))]
    scenes = inspected(tmp_path, *map(told, paths, DAYS))
    west = shapely.box(LEFT, TOP - 600, LEFT + 140, TOP)
    both, _ = compared(changed(UNITS, scenes, burned=burned_areas(("U0", "2026-04-14", west))))
    row = both.loc["U0"]
    assert row["before_gap"] == pytest.approx(0.1, abs=1e-6)
    assert set(row["caution"].split(", ")) >= {"unlike_before", "part_usable"}
