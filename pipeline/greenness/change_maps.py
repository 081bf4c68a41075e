"""."""

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from pipeline.greenness.settings import GreennessSettings
from pipeline.pictures.raster_grid import Grid, aligned
from pipeline.write.change_map import MOST_PIXELS, _opened, _pixels, _window

if TYPE_CHECKING:
    pass


def list_change_maps(
    units: gpd.GeoDataFrame,
    comparisons: pd.DataFrame,
    scenes: pd.DataFrame,
    mask_presets: pd.DataFrame,
    settings: GreennessSettings,
) -> pd.DataFrame:
    """Layer ``change_maps``: pairs of dates to be drawn.

    Those that show the property, with the pixels of the first one.
    """
    pairs = comparisons[["before", "after"]].drop_duplicates().sort_values(["before", "after"])
    drawn: list[Grid] = []
    kept = []
    for row in pairs.itertuples():
        with _opened(scenes, mask_presets, (row.before, row.after)) as pair:
            grids = drawn[:1] + [picture.grid for picture in pair or ()]
            together = aligned(grids) if pair is not None else None
            window = _window(units, together[0]) if together is not None else None
            fits = window is not None and _pixels(window) <= MOST_PIXELS
            kept.append(settings.change_map and fits)
            if fits:
                drawn += grids
    return pairs[np.array(kept, dtype=bool)]
