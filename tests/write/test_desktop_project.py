"""The project inside the GeoPackage names what is there, and is the same for the same run.

What a desktop GIS makes of it is tried by hand with ``tests/desktop.py``. The form of the table and
of its content is that of the files that QGIS 3.22 writes.
"""

import io
import json
import shutil
import sqlite3
import zipfile
from contextlib import closing
from dataclasses import replace
from xml.etree import ElementTree

import pyogrio
import pytest

from pipeline.catalog import LAYERS
from pipeline.write.desktop_project import GROUPS, KEYS, THEMES
from pipeline.write.geopackage import write_geopackage
from tests.part_runs import with_only


def project_of(path):
    """Name, metadata and tree of the project in a GeoPackage."""
    with closing(sqlite3.connect(path)) as database:
        ((name, told, content),) = database.execute("SELECT * FROM qgis_projects").fetchall()
    with zipfile.ZipFile(io.BytesIO(bytes.fromhex(content))) as archive:
        (inner,) = archive.namelist()
        assert inner.endswith(".qgs")
        return name, json.loads(told), ElementTree.fromstring(archive.read(inner))


@pytest.fixture
def package(sample_package):
    return sample_package


def ids(elements, attribute="id"):
    return [element.get(attribute) for element in elements]


def test_every_layer_and_table_stands_once_in_the_tree_and_opens(package):
    name, told, project = project_of(package)
    assert name == project.findtext("title") == "Larkspindle Prairie 2027"
    assert told["last_modified_user"] == "swardline"
    there = {name for name, _ in pyogrio.list_layers(package)} & set(LAYERS)
    layers = project.findall("projectlayers/maplayer")
    sources = [layer.findtext("datasource") for layer in layers]
    assert {source.split("layername=")[1] for source in sources} == there
    assert {source.split("|")[0] for source in sources} == {f"./{package.name}"}
    known = [layer.findtext("id") for layer in layers]
    assert len(set(known)) == len(known)
    assert min(map(len, known)) > 10, "shorter ones are replaced without a word"
    assert sorted(ids(project.iter("layer-tree-layer"))[: len(known)]) == sorted(known)


def test_themes_relations_and_pages_speak_of_layers_that_are_there(package):
    project = project_of(package)[2]
    known = {layer.findtext("id"): layer for layer in project.findall("projectlayers/maplayer")}
    presets = project.findall("visibility-presets/visibility-preset")
    assert {preset.get("name") for preset in presets} == set(THEMES)
    for preset in presets:
        drawn = ids(preset.findall("layer"))
        assert drawn
        assert set(drawn) <= set(known)
        assert all(known[each].find("renderer-v2") is not None for each in drawn)
    for relation in project.findall("relations/relation"):
        assert relation.get("referencedLayer") in known
        field = relation.find("fieldRef").get("referencingField")
        layer = relation.get("referencingLayer").removesuffix("_of_the_property")
        assert field in LAYERS[layer].column_names
        base = relation.get("referencedLayer").removesuffix("_of_the_property")
        assert KEYS[field] == base
    for layout in project.findall("Layouts/Layout"):
        (drawn,) = layout.findall("LayoutItem[@type='65639']")
        assert drawn.get("followPresetName") == layout.get("name")
        told = [label.get("labelText") for label in layout.findall("LayoutItem[@type='65641']")]
        assert any("no permission to ignite" in words for words in told)


def test_groups_and_themes_name_layers_with_a_place():
    for names in (*GROUPS.values(), *THEMES.values()):
        assert all(LAYERS[name].geometry for name in names)
        assert not any(LAYERS[name].internal for name in names)


def test_the_project_lies_where_the_units_are(package):
    project = project_of(package)[2]
    info = pyogrio.read_info(package, layer="units", force_total_bounds=True)
    told = [float(project.findtext(f"mapcanvas/extent/{side}")) for side in ("xmin", "ymax")]
    west, _, _, north = info["total_bounds"]
    assert told[0] < west
    assert told[1] > north
    assert "Lambert" in project.findtext("projectCrs/spatialrefsys/wkt")


def test_names_with_marks_and_other_letters_stay_whole_and_bytes_alike(sample_run, tmp_path):
    name = """Böhm & Söhne's "Upper" <West>"""
    frame = sample_run.frames["property"].assign(name=name)
    run = with_only(sample_run, "units", "burn_blocks", "firebreaks")
    run = replace(run, frames={**run.frames, "property": frame})
    paths = [tmp_path / str(n) / "some.gpkg" for n in range(2)]
    for path in paths:
        path.parent.mkdir()
        write_geopackage(run, path)
    assert project_of(paths[0])[2].findtext("title").startswith(name)
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_without_units_there_is_no_project(sample_run, tmp_path):
    run = with_only(sample_run, "tasks")
    run = replace(run, frames={**run.frames, "units": run.frames["units"].iloc[:0]})
    write_geopackage(run, tmp_path / "some.gpkg")
    with closing(sqlite3.connect(tmp_path / "some.gpkg")) as database:
        tables = {name for (name,) in database.execute("SELECT name FROM sqlite_master")}
    assert "qgis_projects" not in tables
    shutil.rmtree(tmp_path)
