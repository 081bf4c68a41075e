"""Photo points and phenology from the property file to every output, with odd files among them."""

import os
import re
import shutil
import subprocess

import geopandas as gpd
import openpyxl
import pyogrio
import pytest
import shapely

from pipeline.cli import main
from tests.made_photos import JPEG, encoded, picture

UTM = "EPSG:32614"
WEST, SOUTH = 600000.0, 4500000.0


def write_map(path, shapes, **columns):
    moved = [shapely.affinity.translate(shape, WEST, SOUTH) for shape in shapes]
    gpd.GeoDataFrame(columns, geometry=moved, crs=UTM).to_crs(4326).to_file(path)


def write_place(folder):
    """Sources of a property with photo points, and photos of which some are none."""
    units = [shapely.box(0, 0, 400, 400), shapely.box(400, 0, 800, 400)]
    write_map(folder / "units.geojson", units, unit_id=["A", "B"])
    points = [shapely.Point(400, 200), shapely.Point(600, 200), shapely.Point(5000, 0)]
    write_map(
        folder / "points.geojson",
        points,
        point=["Fence <i>", "P-2", "Far"],
        azimuth=[90, None, 10],
    )
    photos = folder / "photos"
    photos.mkdir()
    for name in ("Fence i 2024-06-14.jpg", "Fence i 2026-06-14.jpg", "Fence i 2026-06-14 b.png"):
        (photos / name).write_bytes(JPEG if name.endswith("jpg") else encoded(picture(), "PNG"))
    (photos / "P-2 2031-06-14.jpg").write_bytes(JPEG)
    (photos / "P-2 2026-06-14.jpg").write_text("<script>alert(1)</script>")
    (photos / "P-2 2025-06-14.jpg").touch()
    with (photos / "P-2 2024-06-14.jpg").open("wb") as sparse:
        sparse.truncate(200_000_000)
    with open(os.path.join(os.fsencode(photos), b"P-2 \xff.jpg"), "wb") as odd:
        odd.write(JPEG)
    (folder / "phenology.csv").write_text(
        "unit_id,date,event,species\nA,2026-03-20,first green,\n,2025-07-01,bloom,dandelion\n"
    )
    return folder


@pytest.fixture
def place(tmp_path):
    return write_place(tmp_path)


def write_property(place, *, shown="true", more=""):
    """Its property file."""
    told = f"""[property]
name = "Small Place"
season = 2027
as_of = 2026-11-15
region = "central plains"
[sources.units]
path = "units.geojson"
[sources.photo_points]
path = "points.geojson"
[sources.photos]
path = "photos"
[sources.phenology]
path = "phenology.csv"
[photos]
thumbnails = {shown}
{more}"""
    path = place / "small.toml"
    path.write_text(told)
    return path


def run(place, capsys, **told):
    path = write_property(place, **told)
    code = main(["run", str(path), "--out", str(place / "out"), "--quiet"])
    return code, capsys.readouterr().err


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """The property with its run, which is only read."""
    place = write_place(tmp_path_factory.mktemp("ran"))
    path = write_property(place)
    assert main(["run", str(path), "--out", str(place / "out"), "--quiet"]) == 0
    return place


def layer(place, name):
    (package,) = place.glob("out/*/small_place.gpkg")
    return pyogrio.read_dataframe(package, layer=name)


def test_odd_files_end_no_run_and_each_is_told(ran):
    photos = layer(ran, "photos")
    assert sorted(photos["standing"]) == sorted(
        ["counts"] * 3 + ["ahead", "not_a_photo", "empty", "too_large", "name_not_utf8"]
    )
    assert len(photos) == len(list((ran / "photos").iterdir()))
    told = layer(ran, "findings").groupby("code")["message"].agg(" ".join)
    assert "2031-06-14" in told["photo_in_future"]
    assert "no photo of 2025" in told["photo_year_missed"]
    assert "2026-06-14" in told["photos_of_one_day"]
    assert "A, B" in told["photo_point_on_border"]
    assert "Far" in told["photo_point_outside"]
    for words in ("without any bytes", "no JPEG or PNG inside", "larger than", "not UTF-8"):
        assert words in told["photos_not_used"]
    # 40.6 N lies between the rows of 40 N, 13 April, and 42 N, 12 April: 24 days after 20 March.
    assert "A 03-20 (24 days)" in told["green_up_differs"]


def test_the_point_on_the_fence_stands_in_every_output(ran):
    (folder,) = (ran / "out").glob("*")
    points = layer(ran, "photo_points").set_index("point")
    assert points.loc["Fence <i>", "unit_id"] == "B", "it looks east"
    report = (folder / "report.html").read_text()
    assert report.count("data:image/jpeg;base64,") == 3
    assert "<i>" not in report.replace("&lt;i&gt;", "")
    assert "look 90° (E) from true north" in report
    assert "No photo" in report
    waypoints = gpd.read_file(folder / "photo_points.gpx", layer="waypoints")
    assert "look 90° (E) from true north" in waypoints.set_index("name").loc["Fence <i>", "cmt"]
    fence = points.to_crs(4326).geometry["Fence <i>"]
    assert shapely.distance(waypoints.geometry.to_numpy(), fence).min() < 1e-6
    tasks = layer(ran, "tasks")
    assert list(tasks["kind"]) == ["take_photo"]
    assert "2027" in str(tasks["due"].iloc[0])
    calendar = (folder / "season.ics").read_text().replace("\r\n ", "")
    assert "Take the repeat photos: unit B" in calendar
    book = openpyxl.load_workbook(folder / "season.xlsx")
    assert {"Photo points", "Photos due", "Photos", "First green and bloom"} <= set(book.sheetnames)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
def test_the_packet_says_where_to_stand(ran):
    (packet,) = ran.glob("out/*/packet.pdf")
    text = subprocess.run(
        ["pdftotext", "-layout", packet, "-"], capture_output=True, check=True, text=True
    ).stdout
    words = re.sub(r"\s+", " ", text)
    assert "Stand here, look 90° (E)" in words
    assert "set the declination" in words


def test_photos_are_shown_where_asked_and_as_far_as_they_fit(place, capsys):
    assert run(place, capsys, shown="false")[0] == 0
    (report,) = place.glob("out/*/report.html")
    assert "data:image/jpeg" not in report.read_text()
    assert "Fence i 2024-06-14.jpg" in report.read_text()
    one = 1.5 * len(encoded(picture(), QUALITY=72)) / 1e6 * 4 / 3
    assert run(place, capsys, more=f"thumbnails_mb = {one}")[0] == 0
    (report,) = place.glob("out/*/report.html")
    assert report.read_text().count("data:image/jpeg") == 1
    (told,) = layer(place, "findings").query("code == 'photos_not_shown'")["message"]
    assert "2 of 3" in told
    assert "2024-06-14" in told, "the newest go first"


def test_phenology_of_a_unit_that_does_not_exist_is_one_line(place, capsys):
    (place / "phenology.csv").write_text("unit_id,date,event\nC,2026-03-20,first_green\n")
    code, said = run(place, capsys)
    assert code == 2
    assert 'phenology]: unit "C" is not on the map' in said
    assert not (place / "out").exists()


def test_an_event_that_is_none_is_one_line(place, capsys):
    (place / "phenology.csv").write_text("unit_id,date,event\nA,2026-03-20,sprouting\n")
    code, said = run(place, capsys)
    assert code == 2
    assert "first_green, bloom" in said


def test_the_report_is_made_again_with_its_photos_when_the_files_are_gone(ran, tmp_path):
    place = shutil.copytree(ran, tmp_path, dirs_exist_ok=True)
    shutil.rmtree(place / "photos")
    (package,) = place.glob("out/*/small_place.gpkg")
    (first,) = place.glob("out/*/report.html")
    assert main(["render", str(package), "--out", str(place / "again"), "--quiet"]) == 0
    (again,) = place.glob("again/*/report.html")
    assert again.read_text() == first.read_text()
