"""The invented air photo: what one would see of the ground from above on a summer day."""

from pathlib import Path

import numpy as np
import rasterio
import shapely

from recipe import ground
from recipe.scenes import Grid, grid_over_property, texture, unit_index

FILE_NAME = "air_photo_2026-07-05.tif"
PIXEL_M, MARGIN_M = 4.0, 450.0
COLORS = {
    "native hay meadow": (124, 134, 86),
    "replanted field": (146, 146, 96),
    "native pasture": (132, 130, 88),
    "wet draw": (86, 104, 66),
    "creek bottom": (82, 100, 60),
    "crop field": (168, 152, 116),
}
AROUND = (150, 144, 104)
TILLED, WATER, TREES, GRAVEL, ROOF = (
    (142, 118, 94),
    (62, 74, 78),
    (52, 66, 42),
    (212, 204, 186),
    (228, 226, 222),
)
PROFILE = {
    "driver": "GTiff",
    "dtype": "uint8",
    "count": 3,
    "compress": "JPEG",
    "photometric": "YCBCR",
    "JPEG_QUALITY": 60,
    "tiled": True,
    "blockxsize": 256,
    "blockysize": 256,
}


def view(grid: Grid) -> np.ndarray:
    """Red, green and blue of each pixel: cover first, then what lies on it."""
    chance = np.random.RandomState(ground.SEED)
    colors = np.array([*(COLORS[unit.cover] for unit in ground.UNITS), AROUND], dtype=float)
    seen = colors[unit_index(grid)]
    fields = ground.neighbor_frame().geometry
    _paint(seen, grid, fields.union_all(), TILLED)
    seen += 9.0 * texture(chance, grid.x.shape, 24)[..., None]
    seen += 5.0 * texture(chance, grid.x.shape, 3)[..., None]
    creek = shapely.LineString(ground.CREEK)
    trees = texture(chance, grid.x.shape, 4) > 0.2
    near = shapely.distance(creek, shapely.points(grid.x, grid.y)) < 28.0
    seen[near & trees] = TREES
    _paint(seen, grid, creek.buffer(4.0), WATER)
    _paint(seen, grid, ground.POND, WATER)
    for way in ground.roads_frame().geometry:
        _paint(seen, grid, way.buffer(4.0), GRAVEL)
    for yard in ground.smoke_points_frame().geometry:
        _paint(seen, grid, yard.centroid.buffer(11.0, cap_style="square"), ROOF)
    return np.moveaxis(np.clip(seen, 0, 255).round().astype(np.uint8), -1, 0)


def _paint(seen: np.ndarray, grid: Grid, shape: shapely.Geometry, color: tuple) -> None:
    """Color the pixels whose middle lies in a shape."""
    shapely.prepare(shape)
    seen[shapely.contains_xy(shape, grid.x, grid.y)] = color


def write_air_photo(folder: Path) -> None:
    """The air photo of the sample property, in color."""
    grid = grid_over_property("EPSG:32614", PIXEL_M, MARGIN_M)
    rows, columns = grid.x.shape
    place = {"width": columns, "height": rows, "crs": grid.crs, "transform": grid.transform}
    with rasterio.open(folder / FILE_NAME, "w", **PROFILE, **place) as photo:
        photo.write(view(grid))
