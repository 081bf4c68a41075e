"""Which units lie along one another's edge."""

import geopandas as gpd
import pandas as pd

from pipeline.core.units import M_PER_FT
from pipeline.ground.settings import AcreageSettings


def neighbors_of(edges: gpd.GeoDataFrame, least_m: float) -> dict[str, set[str]]:
    """Units that share an edge longer than ``least_m`` with each unit; a point is no edge.

    Shorter ones come from how the outlines were drawn.
    """
    both = edges.dropna(subset=["left_unit", "right_unit"])
    both = both[both["left_unit"] != both["right_unit"]]
    pairs = pd.DataFrame(
        {
            "one": both[["left_unit", "right_unit"]].min(axis=1),
            "other": both[["left_unit", "right_unit"]].max(axis=1),
            "length_m": both.length,
        }
    )
    found: dict[str, set[str]] = {}
    for (one, other), length_m in pairs.groupby(["one", "other"])["length_m"].sum().items():
        if length_m > least_m:
            found.setdefault(one, set()).add(other)
            found.setdefault(other, set()).add(one)
    return found


def list_neighbors(edges: gpd.GeoDataFrame, settings: AcreageSettings) -> pd.DataFrame:
    """Table ``neighbors``: each unit with each unit along its edge."""
    found = neighbors_of(edges, settings.slop_ft * M_PER_FT)
    rows = [(unit, other) for unit in sorted(found) for other in sorted(found[unit])]
    return pd.DataFrame(rows, columns=["unit_id", "neighbor"])
