"""KML and KMZ against the published schema, read back by a reader that others wrote.

Outside sources: ogckml22.xsd (OGC 07-147r2, 2008), GDAL, which reads both by parsers of its own,
and the signature of a PNG file (ISO/IEC 15948, 5.2).
"""

import re
import zipfile
from html.parser import HTMLParser

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
import shapely
from lxml import etree

from pipeline.core.units import M_PER_FT
from pipeline.pages import palette
from pipeline.pages.cautions import CAUTION
from pipeline.pages.packet.numbered_places import places_of_block
from pipeline.pages.palette import BREAK_STROKES
from pipeline.write.field.kml import color_of, write_kml
from pipeline.write.field.kmz import write_kmz
from tests.made_conflicts import conflict, conflicts_layer
from tests.write.field_runs import HARMFUL, named_harmfully, with_frames, with_gps

KML = "{http://www.opengis.net/kml/2.2}"
PNG = bytes([137, 80, 78, 71, 13, 10, 26, 10])


def tree_of(run, folder):
    path = folder / "mow_lines.kml"
    write_kml(run, path)
    return etree.parse(path)


@pytest.fixture(scope="module")
def schema(published_schemas):
    return etree.XMLSchema(etree.parse(published_schemas / "ogckml22.xsd"))


@pytest.fixture(scope="module")
def sample(sample_run, tmp_path_factory):
    return tree_of(sample_run, tmp_path_factory.mktemp("kml"))


@pytest.fixture(scope="module")
def archive(sample_run, tmp_path_factory):
    path = tmp_path_factory.mktemp("kmz") / "field_plan.kmz"
    write_kmz(sample_run, path)
    return path


def folders(node):
    return {f.findtext(f"{KML}name"): f for f in node.iterfind(f"{KML}Folder")}


def test_files_are_valid_by_the_published_schema(sample, archive, sample_run, schema, tmp_path):
    schema.assertValid(sample)
    schema.assertValid(tree_of(named_harmfully(sample_run), tmp_path))
    with zipfile.ZipFile(archive) as packed:
        schema.assertValid(etree.fromstring(packed.read("doc.kml")))


def test_the_schema_refuses_a_broken_file(sample, schema):
    text = etree.tostring(sample).decode()
    assert not schema.validate(etree.fromstring(text.replace("Folder", "Filder").encode()))


def test_folders_are_by_block_and_theme_and_hold_the_whole_plan(sample, sample_run):
    frames, tops = sample_run.frames, folders(sample.getroot()[0])
    ties = frames["tie_ins"]
    for block in frames["burn_blocks"]["block"]:
        themes = folders(tops[f"Block {block}"])
        held = {name: len(f.findall(f"{KML}Placemark")) for name, f in themes.items()}
        assert held["Mower passes"] == (frames["mow_passes"]["block"] == block).sum()
        assert held["Mow strips"] == (frames["mow_strips"]["block"] == block).sum()
        assert held["Lines to make"] == (frames["made_lines"]["block"] == block).sum()
        assert held["Tie-ins, gaps and corners"] == (ties["block"] == block).sum()
        assert held["Boundary"] == 1
        breaks = themes["Breaks"].iterfind(f"{KML}Placemark/{KML}name")
        shared = [name.text for name in breaks if "two-track" in name.text]
        assert len(shared) == 1  # the edge between both blocks stands in the folder of each
    for name, layer in {
        "Units": "units",
        "Left out": "excluded_ground",
        "Gates": "gates",
        "Water": "water_places",
        "Seeding areas": "seed_areas",
        "Breaks of your map": "break_lines",
        "Breaks of your map that are ground": "break_areas",
        "Photo points": "photo_points",
    }.items():
        assert len(tops[name].findall(f"{KML}Placemark")) == len(frames[layer]) > 0
    stops = (frames["conflicts"]["seriousness"] == "stop_and_ask").sum()
    assert len(tops["Stop and ask"].findall(f"{KML}Placemark")) == stops > 0


def test_styles_are_shared_and_those_of_the_table_of_symbols(sample):
    styles = {s.get("id"): s for s in sample.iter(f"{KML}Style")}
    used = [node.text.removeprefix("#") for node in sample.iter(f"{KML}styleUrl")]
    assert set(used) == set(styles)
    assert len(styles) < len(used) / 3
    tops = folders(sample.getroot()[0])
    breaks = folders(tops["Block North"])["Breaks"]
    seen = set()
    for place in breaks.iterfind(f"{KML}Placemark"):
        style = styles[place.findtext(f"{KML}styleUrl").removeprefix("#")]
        color = style.findtext(f"{KML}LineStyle/{KML}color")
        # KML 2.2 (OGC 07-147r2, 16.10): aabbggrr, opacity first and red last.
        opacity, blue, green, red = re.findall("..", color)
        seen.add(f"#{red}{green}{blue}")
        assert opacity == "ff"
    assert seen == {stroke.color for stroke in BREAK_STROKES.values()}
    assert color_of(palette.STRIP_FILL, 0.5).startswith("80")


def test_positions_come_back_within_the_told_tolerance(sample_run, tmp_path):
    tree_of(sample_run, tmp_path)
    path, far_m = tmp_path / "mow_lines.kml", 0.5 * M_PER_FT + 0.01
    for layer, theme in {"units": "Units", "excluded_ground": "Left out"}.items():
        back = pyogrio.read_dataframe(path, layer=theme).to_crs(sample_run.crs)
        drawn = sample_run.frames[layer]
        for here, there in zip(back.geometry, drawn.geometry, strict=True):
            ground = max(shapely.get_parts(here), key=shapely.area)
            far = shapely.hausdorff_distance(
                shapely.force_2d(ground.boundary), max(there.geoms, key=shapely.area).boundary
            )
            assert far <= far_m
    lines = pyogrio.read_dataframe(path, layer="Mower passes").to_crs(sample_run.crs)
    first = sample_run.frames["mow_passes"].iloc[: len(lines)]
    for here, there in zip(lines.geometry, first.geometry, strict=True):
        assert shapely.hausdorff_distance(shapely.force_2d(here), there) <= far_m
        start = (
            shapely.get_coordinates(shapely.force_2d(here))[0] - shapely.get_coordinates(there)[0]
        )
        assert np.hypot(*start) < 0.01


def test_tolerance_is_that_of_the_settings(sample, sample_run, tmp_path):
    def count(tree):
        return sum(len(node.text.split()) for node in tree.iter(f"{KML}coordinates"))

    coarse = tree_of(with_gps(sample_run, thin_ft=10), tmp_path)
    assert count(coarse) < count(sample) < count(tree_of(with_gps(sample_run, thin_ft=0), tmp_path))


class Cells(HTMLParser):
    """Colors and words of a table."""

    def __init__(self, text):
        super().__init__()
        self.words, self.colors = [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.colors += [v for k, v in attributes if k == "style"]

    def handle_data(self, data):
        self.words.append(data.strip("\xa0"))


def test_legend_tells_each_style_in_words(sample):
    legend = folders(sample.getroot()[0])["Legend"].findtext(f"{KML}description")
    cells = Cells(legend)
    assert len(cells.colors) == len(list(sample.iter(f"{KML}Style")))
    assert {"break to prepare", "gap in a break", "mower pass", "photo point"} <= set(cells.words)


def test_archive_has_a_picture_of_each_block_and_a_legend_on_the_screen(archive, sample_run):
    with zipfile.ZipFile(archive) as packed:
        names = packed.namelist()
        plan = etree.fromstring(packed.read("doc.kml"))
        pictures = [name for name in names if name.endswith(".png")]
        assert all(packed.read(name).startswith(PNG) for name in pictures)
    assert names[0] == "doc.kml"
    tops = folders(plan[0])
    shown = {plan.findtext(f".//{KML}ScreenOverlay/{KML}Icon/{KML}href")}
    shown |= {node.text for node in plan.iterfind(f".//{KML}IconStyle/{KML}Icon/{KML}href")}
    numbered = {row["block"]: row for row in sample_run.frames["burn_blocks"].to_dict("records")}
    for block in numbered:
        (place,) = folders(tops[f"Block {block}"])["Boundary"].iterfind(f"{KML}Placemark")
        told = place.findtext(f"{KML}description")
        shown |= set(re.findall(r'<img src="([^"]+)"', told))
        assert told.count("<li>") == len(places_of_block(numbered[block], sample_run.frames)) > 0
    assert shown == set(pictures)
    assert len(pictures) > len(sample_run.frames["burn_blocks"]) + 1
    assert archive.stat().st_size < 300_000


def test_archive_is_read_by_others(archive, sample_run):
    inside = f"/vsizip/{archive}/doc.kml"
    layers = [name for name, _ in pyogrio.list_layers(inside)]
    assert {"Units", "Photo points", "Gates"} <= set(layers)
    points = gpd.read_file(inside, layer="Photo points")
    assert list(points["Name"]) == sorted(sample_run.frames["photo_points"]["point"])


def test_same_run_gives_the_same_bytes(sample, archive, sample_run, tmp_path):
    assert etree.tostring(tree_of(sample_run, tmp_path)) == etree.tostring(sample)
    write_kmz(sample_run, tmp_path / "again.kmz")
    assert (tmp_path / "again.kmz").read_bytes() == archive.read_bytes()


def test_what_to_stop_and_ask_for_and_the_caution_stand_on_top(sample_run, tmp_path):
    block = sample_run.frames["burn_blocks"]["block"].iloc[0]
    against = conflicts_layer(conflict(1, block=block), crs=sample_run.crs)
    tree = tree_of(with_frames(sample_run, conflicts=against), tmp_path)
    told = tree.findtext(f"{KML}Document/{KML}description")
    assert told.startswith(f"Stop and ask: burn of block {block}: ")
    assert told.endswith(CAUTION)


def test_markup_in_names_stays_text_in_names_and_in_the_html_of_descriptions(sample_run, tmp_path):
    tree = tree_of(named_harmfully(sample_run), tmp_path)
    names = " ".join(node.text for node in tree.iter(f"{KML}name"))
    assert HARMFUL[:18] in names
    assert "\u202e" not in names
    assert "\u0007" not in names
    told = " ".join(node.text for node in tree.iter(f"{KML}description"))
    assert "<b>" not in told
    assert "&lt;b&gt;&amp;amp;&lt;/b&gt;" in told
