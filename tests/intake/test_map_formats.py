"""Formats told by their bytes, layers to choose from, zips that must not reach out."""

import sqlite3
import stat
import struct
import zipfile
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.core.errors import SourceError
from pipeline.core.limits import ZIP_FILES
from pipeline.intake import map_formats
from pipeline.intake.map_formats import map_format, unpack
from tests.made_maps import FOLDER, KML, UTM, faults, forties, read, said, save, zipped


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(suffix=st.sampled_from([".gpkg", ".geojson", ".fgb", ".kml"]), share=st.floats(0, 0.999))
def test_other_formats_cut_anywhere_lose_no_row_silently(suffix, share, tmp_path):
    whole = tmp_path / f"whole{suffix}"
    if not whole.exists():
        crs = UTM if suffix in (".gpkg", ".fgb") else 4326
        save(forties().rename(columns={"UNIT": "Name"}).to_crs(crs), whole)
    path = tmp_path / f"cut{suffix}"
    path.write_bytes(whole.read_bytes()[: int(share * whole.stat().st_size)])
    result = read(path, columns={"unit_id": "Name"})
    assert result.faults or list(result.frame["unit_id"]) == ["A", "B", "C"]


def test_geopackage_drawn_in_arcs_says_what_straightening_costs(tmp_path):
    path = save(forties(), tmp_path / "u.gpkg", SPATIAL_INDEX="NO")
    with sqlite3.connect(path) as database:
        database.execute("UPDATE gpkg_geometry_columns SET geometry_type_name = 'CURVEPOLYGON'")
    database.close()
    result = read(path)
    assert faults(result) == ""
    assert "layer u is drawn in arcs" in said(result)


def test_geopackage_that_is_open_is_read_with_its_latest_edits(tmp_path):
    path = save(forties(), tmp_path / "u.gpkg", SPATIAL_INDEX="NO")
    viewer = sqlite3.connect(path)
    viewer.execute("PRAGMA journal_mode = WAL")
    for (trigger,) in viewer.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'"):
        viewer.execute(f'DROP TRIGGER "{trigger}"')
    viewer.execute("UPDATE u SET UNIT = 'edited' WHERE fid = 2")
    viewer.commit()
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    result = read(path)
    assert faults(result) == ""
    assert list(result.frame["unit_id"]) == ["A", "edited", "C"]
    assert "is open in another program" in said(result)
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before
    viewer.close()


@pytest.mark.parametrize("inside", ["", "deep/down/"])
def test_zip_of_one_map_is_read_wherever_it_lies(inside, tmp_path):
    (tmp_path / "in").mkdir()
    inner = save(forties(), tmp_path / "in" / "u.shp")
    result = read(zipped(tmp_path / "u.zip", inner, inside=inside))
    assert faults(result) == ""
    assert len(result.frame) == 3


def test_zip_of_two_maps_asks_which(tmp_path):
    (tmp_path / "in").mkdir()
    inner = [save(forties(), tmp_path / "in" / f"{name}.shp") for name in ("north", "south")]
    path = zipped(tmp_path / "u.zip", *inner)
    assert "2 map files (north.shp, south.shp)" in faults(read(path))
    assert not read(path, layer="south").faults


def test_zip_in_a_zip_and_zip_of_nothing_are_refused(tmp_path):
    (tmp_path / "in").mkdir()
    inner = zipped(tmp_path / "in" / "u.zip", save(forties(), tmp_path / "in" / "v.shp"))
    with zipfile.ZipFile(tmp_path / "outer.zip", "w") as archive:
        archive.write(inner, "u.zip")
    assert "no map file in the zip" in faults(read(tmp_path / "outer.zip"))


def test_several_layers_are_listed_and_one_can_be_chosen(tmp_path):
    for layer in ("north", "south"):
        save(forties(), tmp_path / "u.gpkg", layer=layer, append=layer == "south")
    path = tmp_path / "u.gpkg"
    assert "2 layers (north, south); expected one layer" in faults(read(path))
    assert not read(path, layer="south").faults
    assert 'no layer "sowth"' in faults(read(path, layer="sowth"))
    assert 'did you mean "south"?' in faults(read(path, layer="sowth"))


def test_kml_folders_are_layers(tmp_path):
    path = tmp_path / "u.kml"
    path.write_text(KML.format(folders=FOLDER.format(name="North")))
    assert list(read(path, columns={"unit_id": "Name"}).frame["unit_id"]) == ["North 1"]
    folders = FOLDER.format(name="North") + FOLDER.format(name="South")
    path.write_text(KML.format(folders=folders))
    assert "2 layers (North, South)" in faults(read(path, columns={"unit_id": "Name"}))


def test_virtual_dataset_under_a_harmless_name_is_refused(tmp_path):
    path = tmp_path / "u.gpkg"
    path.write_text(
        "<OGRVRTDataSource><OGRVRTLayer name='u'><SrcDataSource>/vsicurl/http://127.0.0.1/x.shp"
        "</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"
    )
    assert 'XML of the kind "OGRVRTDataSource"' in faults(read(path))


def test_streamed_algorithm_under_a_harmless_name_is_refused(tmp_path):
    path = tmp_path / "u.json"
    path.write_text('{"type": "gdal_streamed_alg", "command_line": "gdal vector pipeline"}')
    assert 'JSON of the type "gdal_streamed_alg"' in faults(read(path))


def test_xml_that_grows_or_points_elsewhere_is_refused(tmp_path):
    path = tmp_path / "u.kml"
    bomb = '<!DOCTYPE kml [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
    path.write_text(KML.format(folders="&b;").replace("<kml", f"{bomb}<kml"))
    assert "a document type declaration and entities" in faults(read(path))
    link = "<NetworkLink><Link><href>http://127.0.0.1/x.kml</href></Link></NetworkLink>"
    path.write_text(KML.format(folders=link))
    assert "a network link" in faults(read(path))


def test_database_that_links_elsewhere_is_refused(tmp_path):
    path = save(forties(), tmp_path / "u.gpkg")
    with sqlite3.connect(path) as database:
        database.execute("PRAGMA writable_schema = 1")
        database.execute(
            "INSERT INTO sqlite_master VALUES ('table', 'evil', 'evil', 0, "
            "\"CREATE VIRTUAL TABLE evil USING VirtualOGR('/vsicurl/http://127.0.0.1/x.shp')\")"
        )
    database.close()
    assert 'table "evil" is a link to data elsewhere' in faults(read(path))


@pytest.mark.parametrize("content", [b"hello", b"\x89PNG\r\n", b"%PDF-1.7", b"\0" * 400])
def test_file_of_another_kind_is_refused(content, tmp_path):
    (tmp_path / "u.shp").write_bytes(content)
    assert "not a map format that is read" in faults(read(tmp_path / "u.shp"))


def packed(path, members):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in members:
            file.writestr(name, content)
    return path


@pytest.mark.parametrize(
    "name",
    ["../evil.shp", "a/../../evil.shp", "/evil.shp", "..\\evil.shp", "C:\\evil.shp", "C:evil.shp"],
)
def test_zip_that_reaches_out_is_refused_and_nothing_is_written(name, tmp_path):
    path = packed(tmp_path / "u.zip", [("good.shp", "x"), (name, "x")])
    scratch = tmp_path / "deep" / "scratch"
    scratch.mkdir(parents=True)
    with pytest.raises(SourceError, match="written outside"):
        unpack(path, "u.zip", scratch)
    assert not list(scratch.iterdir())
    assert not list(tmp_path.rglob("evil*"))


def test_zip_with_a_link_is_refused(tmp_path):
    link = zipfile.ZipInfo("u.shp")
    link.external_attr = (stat.S_IFLNK | 0o777) << 16
    path = packed(tmp_path / "u.zip", [(link, "/etc/passwd")])
    with pytest.raises(SourceError, match="a link in the zip"):
        unpack(path, "u.zip", tmp_path / "scratch")


def test_zip_bomb_is_refused_before_it_is_unpacked(tmp_path):
    path = packed(tmp_path / "u.zip", [(f"{n}.shp", bytes(12_000_000)) for n in range(3)])
    with pytest.raises(SourceError, match="unpacks to 36,000,000 bytes"):
        unpack(path, "u.zip", tmp_path / "scratch")
    assert not (tmp_path / "scratch").exists()


def test_zip_that_lies_about_its_size_is_refused(tmp_path):
    path = packed(tmp_path / "u.zip", [("u.shp", bytes(5_000_000))])
    content = path.read_bytes().replace(struct.pack("<I", 5_000_000), struct.pack("<I", 100))
    path.write_bytes(content)
    (tmp_path / "scratch").mkdir()
    with pytest.raises(SourceError, match=r"cannot be unpacked|larger than it declares"):
        unpack(path, "u.zip", tmp_path / "scratch")
    written = [p.stat().st_size for p in (tmp_path / "scratch").rglob("*") if p.is_file()]
    assert sum(written) <= 100


def test_zip_of_very_many_files_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(map_formats, "ZIP_FILES", replace(ZIP_FILES, most=3))
    path = packed(tmp_path / "u.zip", [(f"{n}.shp", "x") for n in range(4)])
    with pytest.raises(SourceError, match="4 files in the zip"):
        unpack(path, "u.zip", tmp_path / "scratch")


@given(share=st.floats(0, 0.99))
def test_zip_cut_anywhere_is_refused_or_whole(tmp_path_factory, share):
    tmp_path = tmp_path_factory.mktemp("zip")
    path = packed(tmp_path / "u.zip", [("a.shp", b"12345" * 40), ("a.dbf", b"67890" * 40)])
    content = path.read_bytes()
    path.write_bytes(content[: int(share * len(content))])
    (tmp_path / "scratch").mkdir()
    with pytest.raises(SourceError):
        unpack(path, "u.zip", tmp_path / "scratch")


@pytest.mark.parametrize(
    ("size", "fits"), [(100, True), (3_900_000_000, True), (4_100_000_000, False)]
)
def test_map_of_at_most_four_gigabytes_is_opened(size, fits, tmp_path):
    path = tmp_path / "u.fgb"
    with path.open("wb") as file:
        file.write(b"fgb\x03fgb\x00")
        file.truncate(size)  # the file takes no room on the disk
    if fits:
        assert map_format(path, "u.fgb") == "FlatGeobuf"
    else:
        with pytest.raises(SourceError, match="4,100,000,000 bytes; expected at most 4 GB"):
            map_format(path, "u.fgb")
