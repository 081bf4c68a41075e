"""Greenness of zones on real Landsat pictures, against exactextract, rasterstats and spyndex.

The pictures and their origin are in conftest.py. Where a figure was not published but computed
with other software from the same files, the test says "computed".
"""

import shutil
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from rasterio.windows import Window
from rasterstats import zonal_stats

from tests.chips import (
    EIGHT_BITS,
    agrees,
    by_exactextract,
    compare,
    measured,
    of_change,
    of_scene,
    on_raster,
    run,
    spyndex_ndvi,
    stack,
    write,
    write_spyndex_ndvi,
)

# rasterio and rasterstats multiply transforms in the way that affine 3 is about to retire.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")


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
    assert judged["change_vs_reference"].abs().max() < 1e-9
    assert judged[["interval_low", "interval_high"]].abs().max(axis=None) < 1e-6
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
