"""A project of the layers inside the GeoPackage: groups, themes, relations, a page for each theme.

*Source*: the table ``qgis_projects`` and its content, a zipped project in hexadecimal, are what
QGIS 3.22 writes and reads; no standard tells of them.
"""

import io
import json
import sqlite3
import zipfile
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from xml.etree.ElementTree import Element, SubElement, fromstring, tostring

from pipeline.core.layer import Layer
from pipeline.pages.cautions import CAUTION
from pipeline.pages.symbols.looks import Style
from pipeline.write.foreign_keys import KEYS
from pipeline.write.qml import aliases, choices, labels, qml, renderer

PROJECTS_DDL = "CREATE TABLE qgis_projects(name TEXT PRIMARY KEY, metadata BLOB, content BLOB);"


GROUPS: Mapping[str, tuple[str, ...]] = {
    "Season": ("conflicts", "tasks", "planned_work", "season_plan", "findings"),
    "Burn": (
        "tie_ins",
        "gates",
        "water_places",
        "smoke_places",
        "firebreaks",
        "break_slopes",
        "burn_blocks",
    ),
    "Mow": ("mow_passes", "mow_moves", "mow_strips", "made_lines"),
    "Seed": ("seed_areas",),
    "Greenness": ("greenness",),
    "Record": (
        "photo_points",
        "patch_ground",
        "burn_reports",
        "record_book",
        "fire_history",
        "history",
        "road",
        "fuel",
        "community",
        "season_options",
    ),
    "Ground": ("mended", "break_lines", "break_areas", "excluded_ground", "units"),
}
"""Layers in their order on the map, the uppermost first."""


THEMES: Mapping[str, tuple[str, ...]] = {
    "Burn": (
        "tie_ins",
        "gates",
        "water_places",
        "smoke_places",
        "firebreaks",
        "burn_blocks",
        "units",
    ),
    "Mow": ("mow_passes", "mow_moves", "mow_strips", "made_lines", "firebreaks", "units"),
    "Seed": ("seed_areas", "excluded_ground", "units"),
    "Season": ("planned_work", "units"),
    "Conflicts": ("conflicts", "units"),
    "Greenness": ("greenness", "units"),
    "Burn history": ("fire_history", "history"),
    "Fuel": ("fuel",),
    "Natives": ("community", "units"),
    "Road of recovery": ("road",),
}
"""What is drawn together."""


SHAPES = {
    "MultiPolygon": "Polygon",
    "MultiLineString": "Line",
    "LineString": "Line",
    "Point": "Point",
}
"""Words of the project for the kinds of shapes; layers of any kind have others."""


ZIP_DAY = (1980, 1, 1, 0, 0, 0)


MARGIN = 0.05
"""Room around the property [share of its width]."""


Styles = Mapping[str, Mapping[str, Style]]
"""Styles of each layer by their names, the one that is drawn by itself first."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the property lies: the system of its coordinates as text, and its extent in it."""

    wkt: str
    west: float
    south: float
    east: float
    north: float


def add_project(
    database: sqlite3.Connection,
    layers: list[Layer],
    styles: Styles,
    title: str,
    stamp: str,
) -> None:
    """Add the project to a GeoPackage whose layers are there; ``stamp`` is ISO 8601 in UTC.

    Without units there is no place to show, and no project.
    """
    place = _place(database)
    if place is None:
        return
    file = Path(database.execute("PRAGMA database_list").fetchone()[2]).name
    project = _project(layers, styles, place, title, file)
    database.executescript(PROJECTS_DDL)
    changed = {"last_modified_time": stamp, "last_modified_user": "swardline"}
    database.execute(
        "INSERT INTO qgis_projects VALUES (?, ?, ?)",
        (title, json.dumps(changed), _zipped(project).hex()),
    )


def _place(database: sqlite3.Connection) -> Place | None:
    """Extent of the units, with room around them; None without units."""
    found = database.execute(
        "SELECT s.definition, min_x, min_y, max_x, max_y FROM gpkg_contents c "
        "JOIN gpkg_spatial_ref_sys s USING (srs_id) "
        "WHERE table_name = 'units' AND min_x IS NOT NULL"
    ).fetchone()
    if found is None:
        return None
    wkt, west, south, east, north = found
    room = MARGIN * max(east - west, north - south)
    return Place(wkt, west - room, south - room, east + room, north + room)


def _zipped(project: Element) -> bytes:
    """The project as a file of its own, the same bytes for the same project."""
    head = "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>"
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        entry = zipfile.ZipInfo("project.qgs", ZIP_DAY)
        entry.compress_type = zipfile.ZIP_DEFLATED
        archive.writestr(entry, head + tostring(project, encoding="unicode"))
    return held.getvalue()


def _project(layers: list[Layer], styles: Styles, place: Place, title: str, file: str) -> Element:
    project = Element("qgis", version="3.22.0", projectname=title)
    SubElement(project, "title").text = title
    _crs(SubElement(project, "projectCrs"), place)
    there = {layer.name: layer for layer in layers}
    _tree(SubElement(project, "layer-tree-group"), there, file)
    _relations(SubElement(project, "relations"), layers)
    canvas = SubElement(project, "mapcanvas", name="theMapCanvas")
    SubElement(canvas, "units").text = "meters"
    _extent(SubElement(canvas, "extent"), place)
    drawn = SubElement(project, "projectlayers")
    for layer in layers:
        _layer(drawn, layer, styles.get(layer.name, {}), place, file)
    presets = SubElement(project, "visibility-presets")
    layouts = SubElement(project, "Layouts")
    for name, visible in _themes(there, styles).items():
        preset = SubElement(presets, "visibility-preset", name=name)
        for layer_name, style in visible.items():
            SubElement(preset, "layer", {"id": _id(layer_name), "style": style, "visible": "1"})
        _layout(layouts, name, title, place, visible)
    properties = SubElement(project, "properties")
    reference = SubElement(properties, "SpatialRefSys")
    SubElement(reference, "ProjectionsEnabled", type="int").text = "1"
    SubElement(SubElement(properties, "Paths"), "Absolute", type="bool").text = "false"
    return project


def _themes(there: Collection[str], styles: Styles) -> dict[str, dict[str, str]]:
    """Layers of each theme with the style they have in it; a theme for each style of its first."""
    found = {}
    for name, drawn_by in THEMES.items():
        first, *others = drawn_by
        if first not in there:
            continue
        below = {layer: "default" for layer in others if layer in there}
        named = list(styles.get(first, {}))
        if len(named) < 2:
            found[name] = {first: "default", **below}
        else:
            found |= {f"{name}: {style}": {first: style, **below} for style in named}
    return found


def _id(layer: str) -> str:
    """Name of a layer in the project; one under eleven letters is replaced without a word."""
    return f"{layer}_of_the_property"


def _source(layer: str, file: str) -> str:
    return f"./{file}|layername={layer}"


def _crs(parent: Element, place: Place) -> None:
    SubElement(SubElement(parent, "spatialrefsys"), "wkt").text = place.wkt


def _extent(parent: Element, place: Place) -> None:
    corners = {"xmin": place.west, "ymin": place.south, "xmax": place.east, "ymax": place.north}
    for name, value in corners.items():
        SubElement(parent, name).text = repr(value)


def _words(name: str) -> str:
    """Name of a layer or table as people read it."""
    return name.replace("_", " ").capitalize()


def _tree(root: Element, there: Mapping[str, Layer], file: str) -> None:
    """Groups of layers; what the first theme draws is switched on."""
    shown = THEMES["Season"]
    groups = {group: [name for name in names if name in there] for group, names in GROUPS.items()}
    grouped = {name for names in groups.values() for name in names}
    groups["Tables and other layers"] = [name for name in there if name not in grouped]
    for group, names in groups.items():
        if not names:
            continue
        told = {"name": group, "checked": "Qt::Checked", "expanded": "0"}
        branch = SubElement(root, "layer-tree-group", told)
        for name in names:
            checked = "Qt::Checked" if name in shown else "Qt::Unchecked"
            told = {"id": _id(name), "name": _words(name), "source": _source(name, file)}
            told |= {"providerKey": "ogr", "checked": checked, "expanded": "0"}
            SubElement(branch, "layer-tree-layer", told)


def _relations(parent: Element, layers: list[Layer]) -> None:
    """Rows of every layer and table that speak of a unit, block or seed area."""
    names = {layer.name for layer in layers}
    for layer in layers:
        for key, base in KEYS.items():
            if base in names and layer.name != base and key in layer.column_names:
                relation = SubElement(
                    parent,
                    "relation",
                    id=f"{base}_{layer.name}_{key}",
                    name=_words(layer.name),
                    strength="Association",
                    referencedLayer=_id(base),
                    referencingLayer=_id(layer.name),
                )
                SubElement(relation, "fieldRef", referencedField=key, referencingField=key)


def _layer(
    parent: Element, layer: Layer, styles: Mapping[str, Style], place: Place, file: str
) -> None:
    """A layer or table with its symbols, labels and headings; it takes none of the stored style."""
    shape = SHAPES.get(layer.geometry, "Unknown geometry") if layer.geometry else "No geometry"
    style = next(iter(styles.values()), None)
    drawn = SubElement(
        parent,
        "maplayer",
        type="vector",
        geometry=shape,
        labelsEnabled=str(int(bool(style and style.label))),
    )
    SubElement(drawn, "id").text = _id(layer.name)
    SubElement(drawn, "datasource").text = _source(layer.name, file)
    SubElement(drawn, "layername").text = _words(layer.name)
    SubElement(drawn, "abstract").text = layer.meaning
    if layer.geometry:
        _crs(SubElement(drawn, "srs"), place)
    SubElement(drawn, "provider", encoding="UTF-8").text = "ogr"
    if style:
        drawn.append(fromstring(renderer(style)))
        if style.label:
            drawn.append(fromstring(labels(layer, style)))
    if len(styles) > 1:
        drawn.append(_style_manager(layer, styles))
    drawn.append(fromstring(choices(layer)))
    drawn.append(fromstring(aliases(layer)))


def _style_manager(layer: Layer, styles: Mapping[str, Style]) -> Element:
    """The styles that a layer can be shown in; the first one is that of the layer itself."""
    first, *others = styles
    manager = Element("map-layer-style-manager", current=first)
    SubElement(manager, "map-layer-style", name=first)
    for name in others:
        held = SubElement(manager, "map-layer-style", name=name)
        held.append(fromstring(qml(layer, styles[name]).partition(">")[2]))
    return manager


PAGE_MM = (279.4, 215.9)
"""Letter paper, across."""


def _layout(parent: Element, name: str, title: str, place: Place, visible: Iterable[str]) -> None:
    """A page to print: the map of a theme, its title, key, scale and the caution."""
    layout = SubElement(parent, "Layout", name=name, units="mm", printResolution="300")
    pages = SubElement(layout, "PageCollection")
    width, height = PAGE_MM
    _item(pages, 65638, f"page_{name}", (0, 0, width, height))
    _label(layout, f"title_{name}", f"{title}: {name}", (10, 8, 200, 10), size=16)
    frame = (10.0, 20.0, 172.0, 172.0)
    drawn = _item(layout, 65639, f"map_{name}", frame)
    drawn.attrib |= {"followPreset": "true", "followPresetName": name, "frame": "true"}
    _framed(drawn, place, frame[2] / frame[3])
    key = _item(layout, 65642, f"key_{name}", (186, 20, 88, 170))
    key.attrib |= {"map_uuid": f"map_{name}", "title": "", "legendFilterByAtlas": "0"}
    key.attrib |= {"symbolWidth": "6", "symbolHeight": "3.5", "symbolSpace": "1"}
    styles = SubElement(key, "styles")
    for part in ("title", "group", "subgroup", "symbolLabel"):
        style = SubElement(styles, "style", name=part, marginTop="1.5", marginLeft="2")
        style.set("font", _font(8))
        SubElement(style, "text-style", fontSize="8", fontSizeUnit="Point")
    tree = SubElement(key, "layer-tree-group")
    for layer in visible:
        SubElement(
            tree,
            "layer-tree-layer",
            {"id": _id(layer), "name": _words(layer), "checked": "Qt::Checked", "expanded": "1"},
        )
    bar = _item(layout, 65646, f"bar_{name}", (186, 193, 60, 12))
    bar.attrib |= {
        "mapUuid": f"map_{name}",
        "style": "Single Box",
        "unitType": "feet",
        "unitLabel": "ft",
        "numSegments": "2",
        "numUnitsPerSegment": "500",
        "numMapUnitsPerScaleBarUnit": "1",
    }
    _label(layout, f"caution_{name}", CAUTION, (10, 194, 170, 16), size=8)


def _item(parent: Element, kind: int, name: str, box: tuple[float, float, float, float]) -> Element:
    """An item of a page: its place from the left and the top, its width and height [mm]."""
    left, top, width, height = box
    return SubElement(
        parent,
        "LayoutItem",
        type=str(kind),
        uuid=name,
        templateUuid=name,
        id=name,
        position=f"{left:g},{top:g},mm",
        positionOnPage=f"{left:g},{top:g},mm",
        size=f"{width:g},{height:g},mm",
        visibility="1",
    )


def _label(
    parent: Element, name: str, words: str, box: tuple[float, float, float, float], *, size: int
) -> None:
    label = _item(parent, 65641, name, box)
    label.attrib |= {"labelText": words, "htmlState": "0", "halign": "1", "valign": "32"}
    SubElement(label, "LabelFont", description=_font(size))  # asked for by 3.22
    SubElement(label, "text-style", fontSize=str(size), fontSizeUnit="Point")


def _font(size: int) -> str:
    """A font as Qt tells it: family, size [pt], and ten more numbers left as they are."""
    return f"Sans Serif,{size},-1,5,50,0,0,0,0,0"


def _framed(drawn: Element, place: Place, ratio: float) -> None:
    """The extent of a map item, which must have the ratio of its frame."""
    width, height = place.east - place.west, place.north - place.south
    across, down = max(width, height * ratio), max(height, width / ratio)
    x, y = (place.west + place.east) / 2, (place.south + place.north) / 2
    SubElement(
        drawn,
        "Extent",
        xmin=repr(x - across / 2),
        ymin=repr(y - down / 2),
        xmax=repr(x + across / 2),
        ymax=repr(y + down / 2),
    )
