"""The invented pictures: greenness of six dates, and reflectance before and after a burn.

Every unit has a true greenness for each date, the year's weather on top of it, and, in the summer
after the burn, the effect of ``EFFECTS``. Pixels scatter around that with texture as wide as
patches of grass are. So what a run finds can be held against what was put in.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import rasterio
import shapely
from pyproj import Transformer

from recipe import ground

NODATA = -9999
BURN_DATE = "2026-04-14"
EFFECTS = {"P2": 0.06, "P4": 0.01}  # true change of NDVI by the burn, over the unburned units
REFERENCES = ("P1", "P3", "P5", "P6", "P7", "P8")
WEATHER_SEED = 4  # draws how each unit answers each year's weather
YEAR_SD = 0.012  # spread of those answers, as NDVI

EARLY = {
    "native hay meadow": 0.27,
    "replanted field": 0.33,
    "native pasture": 0.47,
    "wet draw": 0.50,
    "creek bottom": 0.52,
    "crop field": 0.17,
}
MID = {
    "native hay meadow": 0.70,
    "replanted field": 0.66,
    "native pasture": 0.58,
    "wet draw": 0.72,
    "creek bottom": 0.69,
    "crop field": 0.74,
}
# Brome and bluegrass make a pasture green in May and dull in July: how much of them there is.
COOL = {
    "P1": 0.02,
    "P2": 0.01,
    "P3": 0.05,
    "P4": -0.01,
    "P5": -0.03,
    "P6": 0.03,
    "P7": 0.0,
    "P8": 0.04,
    "F1": -0.03,
    "F2": 0.05,
}


@dataclass(frozen=True, slots=True)
class Scene:
    """One greenness picture. ``clouds`` are (x, y, radius) in the plane [m]."""

    date: str
    early: bool
    weather: float
    tagged: bool
    clouds: tuple[tuple[float, float, float], ...] = ()

    @property
    def file_name(self) -> str:
        """Name of its file."""
        return f"ndvi_{self.date}.tif"


SCENES = (
    Scene("2024-05-04", True, 0.0, True),
    Scene("2024-07-21", False, 0.0, True, ((-700, -700, 130), (-560, -760, 90))),
    Scene("2025-05-06", True, -0.02, True),
    Scene("2025-07-20", False, -0.03, True, ((640, -700, 230), (800, -620, 190), (500, -740, 160))),
    Scene("2026-05-08", True, 0.02, False),
    Scene("2026-07-22", False, 0.04, False, ((-1130, -740, 120), (1180, 700, 220))),
)
REFLECTANCE_DATES = ("2026-04-02", "2026-04-18")
BANDS = ("red", "nir", "swir1", "swir2")
DORMANT = np.array([0.115, 0.235, 0.290, 0.205])
CHARRED = np.array([0.050, 0.085, 0.140, 0.120])  # about four days after the fire
UNBURNED_ISLANDS = ((-250.0, -60.0, 55.0), (-430.0, -250.0, 40.0))  # inside P2: x, y, radius


@dataclass(frozen=True, slots=True)
class Grid:
    """A north-up raster grid over the property, with the plane coordinates of its pixels."""

    crs: str
    pixel_m: float
    transform: rasterio.Affine
    x: np.ndarray
    y: np.ndarray


def grid_over_property(crs: str, pixel_m: float, margin_m: float = 90.0) -> Grid:
    """Grid of whole pixel multiples, as delivered scenes have it."""
    to_crs = Transformer.from_crs(ground.PLANE, crs, always_xy=True)
    left, bottom, right, top = shapely.Polygon(ground.OUTLINE).buffer(margin_m).bounds
    east, north = to_crs.transform([left, right, left, right], [bottom, bottom, top, top])
    west, south = (np.floor(min(v) / pixel_m) * pixel_m for v in (east, north))
    columns = int(np.ceil((max(east) - west) / pixel_m))
    rows = int(np.ceil((max(north) - south) / pixel_m))
    top_edge = south + rows * pixel_m
    column, row = np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5)
    x, y = to_crs.transform(west + column * pixel_m, top_edge - row * pixel_m, direction="INVERSE")
    transform = rasterio.Affine(pixel_m, 0, west, 0, -pixel_m, top_edge)
    return Grid(crs, pixel_m, transform, x, y)


def texture(chance: np.random.RandomState, shape: tuple[int, int], reach: int) -> np.ndarray:
    """Smooth noise of mean 0 and standard deviation 1, correlated over about ``reach`` pixels."""
    wide = chance.standard_normal((shape[0] + 2 * reach, shape[1] + 2 * reach))
    for axis in (0, 1):
        for _ in range(2):
            total = np.cumsum(wide, axis=axis)
            ahead, behind = np.roll(total, -(reach // 2), axis), np.roll(total, reach // 2, axis)
            wide = ahead - behind
    inner = wide[reach:-reach, reach:-reach]
    return (inner - inner.mean()) / inner.std()


def unit_index(grid: Grid) -> np.ndarray:
    """Number of the unit each pixel center lies in, -1 outside."""
    index = np.full(grid.x.shape, -1)
    for number, shape in enumerate(ground.true_units().values()):
        shapely.prepare(shape)
        index[shapely.contains_xy(shape, grid.x, grid.y)] = number
    return index


def true_greenness(scene: Scene, spread: np.ndarray) -> np.ndarray:
    """NDVI put into each unit for a scene; the last value stands for the ground around."""
    values = []
    for unit, own in zip(ground.UNITS, spread, strict=True):
        cool = COOL.get(unit.unit_id, 0.0)
        base = EARLY[unit.cover] + 1.5 * cool if scene.early else MID[unit.cover] - cool
        if scene.date == "2026-07-22":
            base += EFFECTS.get(unit.unit_id, 0.0)
        if scene.date == "2026-05-08" and unit.unit_id in EFFECTS:
            base -= 0.12  # three weeks after the fire the ground is still half bare
        values.append(base + scene.weather + own)
    return np.array([*values, 0.42 + scene.weather if scene.early else 0.62 + scene.weather])


def circles(grid: Grid, discs: tuple[tuple[float, float, float], ...]) -> np.ndarray:
    """Pixels whose center lies in one of the discs (x, y, radius)."""
    inside = np.zeros(grid.x.shape, dtype=bool)
    for x, y, radius in discs:
        inside |= (grid.x - x) ** 2 + (grid.y - y) ** 2 < radius**2
    return inside


def greenness_arrays() -> dict[str, np.ndarray]:
    """Stored integers (10,000 × NDVI) of each scene by file name."""
    # The older generator: its numbers are promised to stay the same from version to version.
    chance, weather = np.random.RandomState(ground.SEED), np.random.RandomState(WEATHER_SEED)
    grid = grid_over_property("EPSG:32614", 10.0)
    index, shape = unit_index(grid), grid.x.shape
    lasting = 0.020 * texture(chance, shape, 12)
    water = shapely.contains_xy(ground.POND, grid.x, grid.y)
    arrays = {}
    for scene in SCENES:
        spread = YEAR_SD * weather.standard_normal(len(ground.UNITS))
        ndvi = true_greenness(scene, spread)[index] + lasting
        ndvi += 0.012 * texture(chance, shape, 9) + 0.006 * chance.standard_normal(shape)
        ndvi[water] = -0.08 + 0.02 * chance.standard_normal(shape)[water]
        stored = (np.rint(ndvi * 500) * 20).astype("int16")  # steps of 0.002 keep the file small
        stored[circles(grid, scene.clouds)] = NODATA
        arrays[scene.file_name] = stored
    return arrays


def burned_pixels(grid: Grid) -> np.ndarray:
    """Where the fire of 2026 went: all of P2 but two islands, the western part of P4."""
    units = ground.true_units()
    p2 = shapely.contains_xy(units["P2"], grid.x, grid.y) & ~circles(grid, UNBURNED_ISLANDS)
    edge = 120 + 40 * np.sin(grid.y / 60)  # a ragged line where the fire died out
    return p2 | (shapely.contains_xy(units["P4"], grid.x, grid.y) & (grid.x < edge))


def reflectance_arrays() -> dict[str, np.ndarray]:
    """Stored integers (10,000 × reflectance), bands first, of the two dates by file name."""
    chance = np.random.RandomState(ground.SEED + 1)
    grid = grid_over_property("EPSG:32615", 20.0)
    lasting = 1 + 0.05 * texture(chance, grid.x.shape, 8)
    arrays = {}
    for date, haze in zip(REFLECTANCE_DATES, (1.0, 1.03), strict=True):
        stack = DORMANT[:, None, None] * lasting * haze
        if date > BURN_DATE:
            stack = np.where(burned_pixels(grid), CHARRED[:, None, None] * lasting, stack)
        stack = stack + 0.003 * chance.standard_normal(stack.shape)
        arrays[f"reflectance_{date}.tif"] = (np.rint(stack * 500) * 20).astype("int16")
    return arrays


def write_raster(path: Path, array: np.ndarray, grid: Grid, *, scale: float | None) -> None:
    """One GeoTIFF, deflated; ``scale`` is written as the file's own tag where given."""
    bands = array if array.ndim == 3 else array[None]
    profile = {
        "driver": "GTiff",
        "dtype": "int16",
        "nodata": NODATA,
        "crs": grid.crs,
        "transform": grid.transform,
        "count": len(bands),
        "height": bands.shape[1],
        "width": bands.shape[2],
        "compress": "deflate",
        "predictor": 2,
        "zlevel": 9,
    }
    with rasterio.open(path, "w", **profile) as raster:
        raster.write(bands)
        if scale is not None:
            raster.scales = [scale] * len(bands)
        if len(bands) > 1:
            raster.descriptions = BANDS


def write_scenes(folder: Path) -> None:
    """All pictures of the sample property."""
    grid = grid_over_property("EPSG:32614", 10.0)
    arrays = greenness_arrays()
    for scene in SCENES:
        scale = 0.0001 if scene.tagged else None
        write_raster(folder / scene.file_name, arrays[scene.file_name], grid, scale=scale)
    coarse = grid_over_property("EPSG:32615", 20.0)
    for name, array in reflectance_arrays().items():
        write_raster(folder / name, array, coarse, scale=0.0001)
