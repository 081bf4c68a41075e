"""Layers to draw pages from: round units in rows of twenty, any number of them."""

import base64
import re
import zlib

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.ground.acreage import sum_ground
from pipeline.ground.geometry import working_crs
from pipeline.pages.report_page import report_page
from pipeline.write.pages import beside, report_script
from tests.literal_layers import literal_layer

STAMP = "2026-11-02T10:00:00.000Z"


def report(frames, crs):
    """The page of a report as it is written, of a fixed time."""
    style, script = beside("report.css"), report_script()
    return report_page(frames, stamp=STAMP, crs_name=crs.name, style=style, script=script)


def unpacked(page):
    """The page with all that stands packed in it, as its script would put it there."""
    return re.sub(
        r' data-packed="([^"]*)"([^>]*>)',
        lambda found: found[2] + zlib.decompress(base64.b64decode(found[1])).decode(),
        page,
    )


def empty_layers(crs):
    """Every layer, none with a row."""
    return {name: empty(layer, crs if layer.geometry else None) for name, layer in LAYERS.items()}


def grid_layers(count, *, corners=60, scenes=8):
    """Layers of a property of ``count`` round units in rows of twenty, read ``scenes`` times."""
    crs = working_crs(gpd.GeoSeries([shapely.box(-96.01, 39.99, -95.99, 40.01)], crs=4326))
    frames = empty_layers(crs)
    frames["property"] = literal_layer("property", [{"name": "Round Fields", "season": 2027}])
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    round_shape = np.column_stack([np.cos(turn), np.sin(turn)]) * 180.37
    shapes = [
        shapely.Polygon(np.add(round_shape, (400.0 * (n % 20), 400.0 * (n // 20))))
        for n in range(count)
    ]
    names = [f"U{n:03}" for n in range(count)]
    numbers = {c.name: 25.0 for c in LAYERS["units"].columns if c.kind == "number"}
    units = {"unit_id": names, "name": None, "cover": "prairie", **numbers}
    frames["units"] = conform(
        gpd.GeoDataFrame(units, geometry=shapes, crs=crs), LAYERS["units"], crs
    )
    frames["ground_totals"] = sum_ground(frames["units"], frames["exclusions"])
    frames["zone_scenes"] = _scenes(names, scenes)
    frames["greenness"] = _greenness(names, shapes, crs)
    return frames, crs


def _scenes(names, scenes):
    rows = [
        {
            **dict.fromkeys(LAYERS["zone_scenes"].column_names),
            **{c.name: 1 for c in LAYERS["zone_scenes"].columns if c.kind == "integer"},
            **{c.name: 90.0 for c in LAYERS["zone_scenes"].columns if c.kind == "number"},
            "unit_id": name,
            "scene": n,
            "date": pd.Timestamp(2019 + n, 7, 20),
            "last_day": pd.Timestamp(2019 + n, 7, 20),
            "kind": "ndvi",
            "mean": 0.4 + 0.04 * n,
            "reason": None,
        }
        for name in names
        for n in range(scenes)
    ]
    frame = pd.DataFrame(rows, columns=LAYERS["zone_scenes"].column_names)
    return conform(frame, LAYERS["zone_scenes"])


def _greenness(names, shapes, crs):
    layer = LAYERS["greenness"]
    changes = np.linspace(-0.2, 0.2, len(names))
    columns = {c.name: 1.0 for c in layer.columns if c.kind == "number"}
    columns |= {c.name: 1 for c in layer.columns if c.kind == "integer"}
    columns |= {c.name: None for c in layer.columns if c.kind in ("text", "date")}
    columns |= {c.name: False for c in layer.columns if c.kind == "flag"}
    columns |= {
        "comparison": "Burn",
        "unit_id": names,
        "role": "burned",
        "verdict": "within",
        "before": pd.Timestamp(2025, 7, 20),
        "after": pd.Timestamp(2026, 7, 20),
        "change": changes,
        "change_vs_reference": changes,
        "interval_low": changes - 0.03,
        "interval_high": changes + 0.03,
        "noise_floor": 0.02,
    }
    return conform(gpd.GeoDataFrame(columns, geometry=shapes, crs=crs), layer, crs)
