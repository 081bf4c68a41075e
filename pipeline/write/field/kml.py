"""The plan for map programs on phone and computer: folders by block and theme, one set of styles.

*Source*: OGC 07-147r2, KML 2.2 (2008). A description is shown as HTML, so what stands in it is
escaped as such. Lines have no dashes there: color and width tell them apart, and names.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from html import escape as html
from pathlib import Path

import shapely

from pipeline.core.names import natural_key
from pipeline.core.run import Run
from pipeline.core.units import half_up
from pipeline.pages.field.items import mark_of, plan_items
from pipeline.pages.field.settings import gps_settings
from pipeline.pages.field.told import Item
from pipeline.pages.symbols.looks import Look
from pipeline.pages.words import plain
from pipeline.write.field.degrees import Point, lines_of, points_of
from pipeline.write.field.gpx import about, xml

BLOCK_FOLDERS = {
    "burn_blocks": "Boundary",
    "firebreaks": "Breaks",
    "made_lines": "Lines to make",
    "mow_strips": "Mow strips",
    "mow_passes": "Mower passes",
    "mow_moves": "Ways without mowing",
    "tie_ins": "Tie-ins, gaps and corners",
    "break_slopes": "Too steep to mow",
}
"""Folders of each block, by layer."""


FOLDERS = {
    "conflicts": "Stop and ask",
    "smoke_places": "Keep smoke off",
    "gates": "Gates",
    "water_places": "Water",
    "units": "Units",
    "excluded_ground": "Left out",
    "seed_areas": "Seeding areas",
    "break_lines": "Breaks of your map",
    "break_areas": "Breaks of your map that are ground",
    "photo_points": "Photo points",
}
"""Folders of the whole property, by layer."""


HIDDEN = ("mow_moves", "mow_strips")
"""Layers that are shown only when they are ticked: others would be hidden under them."""


NAMED = ("units", "burn_blocks", "seed_areas", "smoke_places")
"""Layers of ground whose name is written on the map."""


FILL_OPACITY = 0.5


@dataclass(frozen=True, slots=True)
class Pictures:
    """Where pictures lie: of the blocks, of the marks by their look, and of the legend.

    ``places`` are what the numbers on the picture of a block stand for.
    """

    of_block: Mapping[str, str] = field(default_factory=dict)
    of_mark: Mapping[Look, str] = field(default_factory=dict)
    legend: str = ""
    places: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


def write_kml(run: Run, path: Path) -> None:
    """Write the whole plan; without pictures, which need a file of their own beside it."""
    path.write_text(kml_text(run, plan_items(run.frames), Pictures()), encoding="utf-8")


def kml_text(run: Run, items: list[Item], pictures: Pictures) -> str:
    """The plan as KML."""
    settings = gps_settings(run.frames["settings"])
    looks = looks_of(items)
    ids = {key: f"s{number}" for number, key in enumerate(looks, start=1)}
    drawn = iter(
        points_of(
            (line for item in items for line in lines_of(item.shape)), run.crs, settings.thin_ft
        )
    )
    marks = points_of([mark_of(item.shape) for item in items], run.crs)
    placed = [
        (item, _placemark(item, ids[item.layer, item.look], drawn, mark[0], pictures))
        for item, mark in zip(items, marks, strict=True)
    ]
    styles = "".join(_style(ids[key], key[1], pictures) for key in looks)
    overlay = _overlay(pictures.legend) if pictures.legend else ""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>'
        f"<name>{xml(run.name)}: plan of season {run.season}</name>"
        f"<description>{_html(about(run, settings))}</description>\n"
        f"{styles}{overlay}{_legend(looks)}{''.join(_folders(placed))}</Document></kml>\n"
    )


def looks_of(items: Iterable[Item]) -> list[tuple[str, Look]]:
    """Layer and look of all things, each once."""
    return list(dict.fromkeys((item.layer, item.look) for item in items))


def _html(text: str) -> str:
    return xml(html(text, quote=False))


def _folders(placed: list[tuple[Item, str]]) -> Iterator[str]:
    """A folder for each block with its themes, then one for each theme of the property."""
    blocks = {
        block for item, _ in placed if item.layer in BLOCK_FOLDERS for block in item.told.blocks
    }
    for block in sorted(blocks, key=natural_key):
        mine = [(item, text) for item, text in placed if block in item.told.blocks]
        themes = "".join(_themes(mine, BLOCK_FOLDERS))
        yield f"<Folder><name>Block {xml(block)}</name>\n{themes}</Folder>\n"
    yield from _themes(placed, FOLDERS)


def _themes(placed: list[tuple[Item, str]], names: Mapping[str, str]) -> Iterator[str]:
    for layer, name in names.items():
        inside = "".join(text for item, text in placed if item.layer == layer)
        if inside:
            yield f"<Folder><name>{name}</name>{_visibility(layer)}\n{inside}</Folder>\n"


def _visibility(layer: str) -> str:
    return "<visibility>0</visibility>" if layer in HIDDEN else ""


def _placemark(
    item: Item, style: str, drawn: Iterator[list[Point]], mark: Point, pictures: Pictures
) -> str:
    told, shapes = item.told, _shapes(item.shape, drawn)
    if item.layer in NAMED:
        shapes.append(_point(mark))
    shape = shapes[0] if len(shapes) == 1 else f"<MultiGeometry>{''.join(shapes)}</MultiGeometry>"
    words = told.remark if told.kind in told.name.lower() else f"{told.kind}: {told.remark}"
    shown = _shown(told.blocks[0], pictures) if item.layer == "burn_blocks" else ""
    return (
        f"<Placemark><name>{xml(told.name)}</name>{_visibility(item.layer)}"
        f"<description>{_html(words)}{shown}</description>"
        f"<styleUrl>#{style}</styleUrl>{shape}</Placemark>\n"
    )


def _shown(block: str, pictures: Pictures) -> str:
    """Picture of a block as HTML, and what its numbers stand for."""
    if block not in pictures.of_block:
        return ""
    places = "".join(f"<li>{html(plain(words))}</li>" for words in pictures.places[block])
    picture = f'<br/><img src="{pictures.of_block[block]}" width="600"/>'
    return xml(f"{picture}<ol>{places}</ol>" if places else picture)


def _shapes(shape: shapely.Geometry, drawn: Iterator[list[Point]]) -> list[str]:
    """Parts of a shape, which take their points from those of all shapes."""
    texts = []
    for part in shapely.get_parts(shape):
        if part.geom_type == "Polygon":
            outer, *inner = (_ring(next(drawn)) for _ in range(1 + len(part.interiors)))
            holes = "".join(f"<innerBoundaryIs>{ring}</innerBoundaryIs>" for ring in inner)
            around = f"<outerBoundaryIs>{outer}</outerBoundaryIs>"
            texts.append(f"<Polygon><tessellate>1</tessellate>{around}{holes}</Polygon>")
        elif part.geom_type == "Point":
            texts.append(_point(next(drawn)[0]))
        else:
            points = _coordinates(next(drawn))
            texts.append(f"<LineString><tessellate>1</tessellate>{points}</LineString>")
    return texts


def _ring(points: list[Point]) -> str:
    return f"<LinearRing>{_coordinates(points)}</LinearRing>"


def _point(point: Point) -> str:
    return f"<Point>{_coordinates([point])}</Point>"


def _coordinates(points: list[Point]) -> str:
    return f"<coordinates>{' '.join(','.join(point) for point in points)}</coordinates>"


def _style(number: str, look: Look, pictures: Pictures) -> str:
    """The look of a class: its mark, line and ground."""
    mark = pictures.of_mark.get(look)
    if not look.mark:
        icon = "<scale>0</scale>"
    elif mark:
        icon = f"<scale>1</scale><Icon><href>{mark}</href></Icon>"
    else:
        icon = f"<color>{color_of(look.stroke.color)}</color><scale>1</scale>"
    ground = (
        f"<color>{color_of(look.fill, FILL_OPACITY)}</color>" if look.fill else "<fill>0</fill>"
    )
    return (
        f'<Style id="{number}"><IconStyle>{icon}</IconStyle>'
        f"<LineStyle><color>{color_of(look.stroke.color)}</color>"
        f"<width>{look.stroke.width:g}</width></LineStyle>"
        f"<PolyStyle>{ground}</PolyStyle></Style>\n"
    )


def color_of(color: str, opacity: float = 1.0) -> str:
    """Color as KML writes it: opacity, blue, green, red."""
    return f"{int(half_up(255 * opacity, 0)):02x}{color[5:7]}{color[3:5]}{color[1:3]}"


def _legend(looks: list[tuple[str, Look]]) -> str:
    """The legend as an empty folder: its description shows each color with its words."""
    titles = BLOCK_FOLDERS | FOLDERS
    entries = "".join(
        f'<tr><td style="background:{look.fill or look.stroke.color}">&#160;&#160;&#160;</td>'
        f"<td>{html(plain(look.words))}</td><td>{titles[layer]}</td></tr>"
        for layer, look in looks
    )
    table = xml(f"<table>{entries}</table>")
    return f"<Folder><name>Legend</name><description>{table}</description></Folder>\n"


def _overlay(picture: str) -> str:
    """The picture of the legend in the lower left corner of the screen."""
    corner = 'x="0" y="0" xunits="fraction" yunits="fraction"'
    return (
        f"<ScreenOverlay><name>Legend on the map</name><Icon><href>{picture}</href></Icon>"
        f"<overlayXY {corner}/><screenXY {corner}/></ScreenOverlay>\n"
    )
