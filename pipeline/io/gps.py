"""Mow lines as a GPX file for a GPS receiver: tracks in WGS 84.

*Source*: GPX 1.1 schema (Topografix, 2004): a track is a list of points that describes a path.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import geopandas as gpd
import pyogrio

if TYPE_CHECKING:
    from pipeline.outputs import Run


def write_gpx(run: "Run", path: Path) -> None:
    """Write a track for each mow pass, named by strip and pass."""
    passes = run.frames["mow_passes"]
    tracks = gpd.GeoDataFrame(
        {
            "name": passes["strip_id"] + " pass " + passes["pass_number"].astype(str),
            "number": passes["pass_number"].astype("int32"),
        },
        geometry=passes.geometry.to_crs(4326),
        crs=4326,
    )
    west, south, east, north = tracks.total_bounds
    if not (-180 <= west <= east <= 180 and -90 <= south <= north <= 90):
        raise ValueError("mow lines are not in degrees")
    pyogrio.write_dataframe(
        tracks,
        path,
        driver="GPX",
        layer="tracks",
        FORCE_GPX_TRACK="YES",
        CREATOR="Swardline",
        METADATA_TIME=run.stamp,
    )
