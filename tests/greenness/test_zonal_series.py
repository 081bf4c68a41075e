"""Means of units that a service computed, against the same pictures given as rasters.

The service is exactextract, which writes the table as people get it: mean, stdev and count of each
polygon. Where only a mean is told, nothing more is known of it.
"""

from datetime import date

import numpy as np
import pandas as pd
import pytest
import shapely
from exactextract import exact_extract

from pipeline.catalog import LAYERS
from pipeline.greenness.years_before import of_one_kind
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table
from pipeline.pictures.autocorrelation import Range, effective_pixels
from tests.literal_layers import literal_layer
from tests.made_scenes import (
    LEFT,
    TOP,
    changed,
    inspected,
    measured,
    readings,
    smooth_greenness,
    told,
    units_frame,
    write_raster,
)

DAYS = [date(2025, 7, 20), date(2026, 7, 21)]
NO_SCENES = literal_layer("scenes")


def field_units():
    corners = (20, 215, 410)
    return units_frame(
        [shapely.box(LEFT + x, TOP - 557, LEFT + x + 163, TOP - 33) for x in corners]
    )


def pictures(folder):
    now = smooth_greenness().astype("float32")
    later = (now + 0.07 + 0.02 * np.random.default_rng(2).standard_normal(now.shape)).astype(
        "float32"
    )
    return [write_raster(folder / f"{n}.tif", a) for n, a in enumerate((now, later))]


def table_of(paths, units, names=("mean", "sd", "pixels")):
    rows = []
    for path, day in zip(paths, DAYS, strict=True):
        frame = exact_extract(str(path), units, ["mean", "stdev", "count"], output="pandas")
        frame.columns = ["mean", "sd", "pixels"]
        for unit, row in zip(units["unit_id"], frame[list(names)].to_dict("records"), strict=True):
            rows.append({"unit_id": unit, "date": day, **row})
    return rows


def test_table_stands_beside_pictures_with_the_same_means(tmp_path):
    units, paths = field_units(), pictures(tmp_path)
    of_pictures = measured(units, inspected(tmp_path, *map(told, paths, DAYS)))
    of_table = measured(units, NO_SCENES, series=table_of(paths, units))
    for name in ("mean", "sd"):
        assert of_table[name].to_numpy() == pytest.approx(of_pictures[name].to_numpy(), abs=1e-6)
    assert of_table["pixels"].to_numpy() == pytest.approx(of_pictures["pixels"], abs=1e-4)
    assert of_table["date"].tolist() == of_pictures["date"].tolist()
    assert set(of_table["kind"]) == {"series"}
    assert of_table["reason"].isna().all()
    assert of_table["lost_pct"].isna().all(), "nobody told it"


def test_change_by_a_table_is_that_of_the_pictures(tmp_path):
    units, paths = field_units(), pictures(tmp_path)
    of_pictures = changed(units, inspected(tmp_path, *map(told, paths, DAYS)))
    rows = table_of(paths, units)
    of_table = changed(units, NO_SCENES, series=rows, dates=DAYS)
    for name in ("before_mean", "after_mean", "change"):
        assert of_table[name].to_numpy() == pytest.approx(of_pictures[name].to_numpy(), abs=1e-6)
    before, after = rows[0]["sd"], rows[3]["sd"]
    assert of_table["change_sd"].iloc[0] == pytest.approx(np.hypot(before, after))
    assert of_table["effective_pixels"].isna().all(), "the size of a pixel is not told"
    sized = [row | {"pixel_m": 10.0} for row in rows]
    worth = changed(units, NO_SCENES, series=sized, dates=DAYS)["effective_pixels"]
    assert worth.iloc[0] == pytest.approx(effective_pixels(rows[0]["pixels"], 10.0, Range(200.0)))
    assert not of_table["paired"].any()
    assert not of_table["mixed"].any()


def test_mean_alone_says_nothing_of_its_precision(tmp_path):
    units, paths = field_units(), pictures(tmp_path)
    row = changed(units, NO_SCENES, series=table_of(paths, units, ["mean"]), dates=DAYS).iloc[0]
    assert row["change"] == pytest.approx(0.07, abs=2e-3)
    assert row[["change_sd", "effective_pixels", "pixels", "valid_pct"]].isna().all()
    assert row["reason"] is None


def test_picture_of_one_date_and_table_of_the_other(tmp_path):
    units, paths = field_units(), pictures(tmp_path)
    scenes = inspected(tmp_path, told(paths[1], DAYS[1]))
    of_pictures = changed(units, inspected(tmp_path, *map(told, paths, DAYS)))
    rows = changed(units, scenes, series=table_of(paths, units)[:3], dates=DAYS)
    assert rows["change"].to_numpy() == pytest.approx(of_pictures["change"].to_numpy(), abs=1e-6)
    assert rows["mixed"].all()
    assert rows["reason"].isna().all()


def test_unit_that_the_table_leaves_out_is_told(tmp_path):
    units, paths = field_units(), pictures(tmp_path)
    rows = [r for r in table_of(paths, units) if (r["unit_id"], r["date"]) != ("U1", DAYS[1])]
    reasons = changed(units, NO_SCENES, series=rows, dates=DAYS)["reason"]
    assert reasons.tolist() == [None, "no_scene_after", None]
    gone = changed(units, NO_SCENES, series=rows, dates=[DAYS[0], date(2027, 7, 20)])["reason"]
    assert set(gone) == {"no_scene_after"}


def test_gates_hold_where_the_table_tells_what_they_ask(tmp_path):
    rows = [
        {"unit_id": "U0", "date": DAYS[0], "mean": 0.5, "pixels": 7.0},
        {"unit_id": "U1", "date": DAYS[0], "mean": 0.5, "valid_pct": 40.0},
        {"unit_id": "U2", "date": DAYS[0], "mean": 0.5, "span_days": 16},
    ]
    table = measured(field_units(), NO_SCENES, series=rows)
    assert table["reason"].tolist() == ["too_few_pixels", "too_little_usable", None]
    assert table.loc["U2", "last_day"] == pd.Timestamp("2025-08-04")


def test_each_date_is_read_from_its_best_kind_and_none_is_set_aside():
    ndvi = readings(("U0", "2026-07-20", 0.5))
    stacks = readings(("U0", "2025-07-20", 0.4), ("U0", "2026-07-20", 0.6), kind="reflectance")
    table = readings(("U0", "2024-07-20", 0.3), ("U0", "2025-07-20", 0.9), kind="series")
    kept = of_one_kind(pd.concat([ndvi, stacks, table], ignore_index=True))
    assert dict(zip(kept["date"].dt.year, kept["mean"], strict=True)) == {
        2024: 0.3,
        2025: 0.4,
        2026: 0.5,
    }


def test_table_as_a_service_exports_it(tmp_path):
    (tmp_path / "series.csv").write_text(
        "unit_id,date,mean,stdDev,count\nU0,2025-07-20,0.512,0.04,310\nU0,2026-07-21,0.55,,\n"
    )
    read = read_table(TableSource(path="series.csv"), LAYERS["zonal_series"], tmp_path)
    assert not read.faults
    assert read.frame["sd"].tolist()[0] == 0.04
    assert read.frame["pixels"].tolist()[0] == 310
    (tmp_path / "scaled.csv").write_text("unit_id,date,mean\nU0,2025-07-20,5120\n")
    faults = read_table(TableSource(path="scaled.csv"), LAYERS["zonal_series"], tmp_path).faults
    assert "5120" in str(faults[0])
