"""A property file from a stranger: what it must not reach."""

import os
import stat
import struct
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.core.errors import SourceError
from pipeline.intake import map_formats
from pipeline.intake.map_formats import unpack
from pipeline.intake.safety import guard_parts, guard_path
from pipeline.intake.settings import VectorSource

VIRTUAL = [
    "/vsicurl/http://127.0.0.1/u.shp",
    "/vsicurl_streaming/http://127.0.0.1/u.shp",
    "/VSIS3/bucket/u.shp",
    "/vsizip/u.zip/u.shp",
    "/vsizip//vsicurl/http://127.0.0.1/u.zip",
    "/vsistdin/",
    "/vsisubfile/0_9,u.shp",
    "/vsimem/u.shp",
    "u/../vsicurl/x",
    "https://example.org/u.geojson",
    "ftp://example.org/u.geojson",
    "file:///etc/passwd",
    "PG:host=127.0.0.1 dbname=x",
    "WFS:http://127.0.0.1/wfs",
    "GeoJSON:u.geojson",
    "ESRI Shapefile:u.shp",
    "<OGRVRTDataSource></OGRVRTDataSource>",
    "\\\\server\\share\\u.shp",
    "//server/share/u.shp",
    " /vsicurl/http://127.0.0.1/u.shp",
]


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "place").mkdir()
    (tmp_path / "other").mkdir()
    (tmp_path / "place" / "u.shp").write_text("x")
    (tmp_path / "other" / "v.shp").write_text("x")
    return tmp_path / "place"


@pytest.mark.parametrize("path", VIRTUAL)
def test_network_and_virtual_paths_are_refused(path, folder):
    with pytest.raises(SourceError, match=r"virtual path|outside|no file at"):
        guard_path(path, folder)


@pytest.mark.parametrize("path", ["../other/v.shp", "sub/../../other/v.shp", "/etc/passwd", ".."])
def test_paths_that_leave_the_folder_are_refused(path, folder):
    with pytest.raises(SourceError, match=r"outside the property file's folder.*--allow"):
        guard_path(path, folder)


def test_allowed_folder_may_be_read(folder):
    other = folder.parent / "other"
    assert guard_path("../other/v.shp", folder, (other,)) == other / "v.shp"
    assert guard_path(str(other / "v.shp"), folder, (other,)) == other / "v.shp"
    assert guard_path("sub\\..\\u.shp", folder) == folder / "u.shp"


def test_links_are_followed_before_they_are_judged(folder):
    (folder / "link.shp").symlink_to(folder.parent / "other" / "v.shp")
    (folder / "door").symlink_to(folder.parent / "other")
    for path in ("link.shp", "door/v.shp"):
        with pytest.raises(SourceError, match="outside"):
            guard_path(path, folder)
    (folder / "inner.shp").symlink_to(folder / "u.shp")
    assert guard_path("inner.shp", folder) == folder / "u.shp"
    with pytest.raises(SourceError, match=r"link\.shp is a link to .*v\.shp"):
        guard_parts([folder / "u.shp", folder / "link.shp"], (folder,), "u.shp")


def test_table_of_a_shapefile_must_not_be_a_link_elsewhere(folder):
    from pipeline.catalog import LAYERS
    from pipeline.intake.vector import read_vector

    (folder / "u.dbf").symlink_to("/etc/passwd")
    (folder / "u.shp").write_bytes(struct.pack(">i", 9994) + bytes(200))
    read = read_vector("units", VectorSource(path="u.shp"), LAYERS["drawn_units"], folder)
    assert "u.dbf is a link to" in str(read.faults[0])


def test_pipes_and_folders_are_no_sources(folder):
    os.mkfifo(folder / "pipe.shp")
    (folder / "sub").mkdir()
    for path, words in (("pipe.shp", "a device or pipe"), ("sub", "is a folder"), (".", "folder")):
        with pytest.raises(SourceError, match=words):
            guard_path(path, folder)


@pytest.mark.parametrize("path", ["u\x00.shp", "u\n.shp", "u\u202e.shp"])
def test_hidden_characters_in_a_path_are_refused(path, folder):
    with pytest.raises(SourceError, match="hidden characters"):
        guard_path(path, folder)


def test_misspelt_file_gets_the_near_one(folder):
    with pytest.raises(SourceError, match=r'no file at .*did you mean "u\.shp"'):
        guard_path("uu.shp", folder)


@given(st.text(min_size=1, max_size=60))
def test_no_text_gets_out(tmp_path_factory, path):
    folder = tmp_path_factory.getbasetemp() / "guarded"
    folder.mkdir(exist_ok=True)
    (folder / "u.shp").touch()
    try:
        found = guard_path(path, folder)
    except SourceError:
        return
    assert found.is_relative_to(folder.resolve())


def packed(path, members):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, content in members:
            file.writestr(name, content)
    return path


@pytest.mark.parametrize("name", ["../evil.shp", "a/../../evil.shp", "/evil.shp", "..\\evil.shp",
                                  "C:\\evil.shp", "C:evil.shp"])  # fmt: skip
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
    monkeypatch.setattr(map_formats, "MOST_MEMBERS", 3)
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
