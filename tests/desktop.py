"""Whether a desktop GIS draws each row of a GeoPackage as the table of symbols says.

Needs QGIS with its Python bindings on the system's own Python, so it stands outside the test run:

    python tests/desktop.py PACKAGE.gpkg [--python /usr/bin/python3]

Each row is drawn alone, without labels, in each style of its layer. Around a point inside an area
the colors of the pixels must be the fill of its look and nothing else than the inks of its
patterns; along a line, or at a place, there must be the color of its stroke. Rows that a style
leaves out must leave the paper white. Of lines and places a few of each look are drawn.
"""

import argparse
import json
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

SIDE = 31  # pixels of the square that is looked at: a dash has gaps


FEW = 4  # lines or places of one look that are drawn


AROUND = 5.0  # what is drawn on each side of the point, in units of the map [meter]


def expected(package: Path) -> dict[str, dict[str, list[dict[str, object]]]]:
    """What the table of symbols says of each row of each style of a layer.

    Of a row its fid, a point of it, its fill, its inks and its stroke.
    """
    import geopandas as gpd
    import pyogrio

    from pipeline.pages.palette import change_scale
    from pipeline.pages.symbols.layer_symbols import greenness_styles, layer_styles

    there = {name for name, kind in pyogrio.list_layers(package) if kind}
    read = {name: gpd.read_file(package, layer=name, fid_as_index=True) for name in there}
    styles = {name: {name: s} for name, s in layer_styles(change_scale((), noise_floor=0)).items()}
    if "greenness" in read:
        styles["greenness"] = greenness_styles(read["greenness"])
    return {
        name: {said: _told(style, read[name]) for said, style in of_layer.items()}
        for name, of_layer in styles.items()
        if name in there
    }


def _told(style, rows) -> list[dict[str, object]]:
    """Rows of a layer as a style should draw them."""
    from pipeline.pages import palette

    told, seen = [], Counter()
    for fid, row in zip(rows.index, rows.to_dict("records"), strict=True):
        shape = row["geometry"]
        if shape is None or shape.is_empty:
            continue
        look, over = style.look(row), style.over(row)
        inks = [palette.PATTERN_INKS[each.pattern] for each in (look, *over) if each.pattern]
        line = shape.geom_type.endswith("LineString")
        point = shape.interpolate(0.5, normalized=True) if line else shape.representative_point()
        kind = "ground" if shape.geom_type.endswith("Polygon") else "line" if line else "place"
        seen[kind, look.words] += 1
        if kind != "ground" and seen[kind, look.words] > FEW:
            continue
        told.append(
            {
                "fid": fid,
                "x": point.x,
                "y": point.y,
                "kind": kind,
                "shown": style.draws(row),
                "fill": look.fill,
                "inks": inks,
                "stroke": look.stroke.color,
            }
        )
    return told


def drawn(package: str, told: dict[str, dict[str, list[dict[str, object]]]]) -> list[str]:
    """Rows that the desktop draws otherwise; runs under the Python of QGIS."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from qgis.core import (  # type: ignore[import-not-found]
        QgsApplication,
        QgsVectorLayer,
    )
    from qgis.PyQt.QtXml import QDomDocument  # type: ignore[import-not-found]

    application = QgsApplication([], False)
    application.initQgis()
    faults = []
    for name, styles in told.items():
        layer = QgsVectorLayer(f"{package}|layername={name}", name, "ogr")
        _, numbers, names, *_ = layer.listStylesInDatabase()
        stored = dict(zip(names, numbers))  # noqa: B905  # the Python of the desktop
        for style, rows in styles.items():
            document = QDomDocument()
            document.setContent(layer.getStyleFromDatabase(stored[style])[0])
            layer.importNamedStyle(document)
            for row in rows:
                layer.setSubsetString(f"fid = {row['fid']}")
                if fault := _fault(row, _colors(layer, row["x"], row["y"])):
                    faults.append(f"{name}, {style}, {row['fid']}: {fault}")
    return faults


def _colors(layer, x: float, y: float) -> set[str]:
    """Colors of the pixels around a place, drawn on white."""
    from qgis.core import (  # type: ignore[import-not-found]
        QgsMapRendererSequentialJob,
        QgsMapSettings,
        QgsRectangle,
    )
    from qgis.PyQt.QtCore import QSize  # type: ignore[import-not-found]
    from qgis.PyQt.QtGui import QColor  # type: ignore[import-not-found]

    settings = QgsMapSettings()
    settings.setLayers([layer])
    settings.setOutputSize(QSize(300, 240))
    settings.setBackgroundColor(QColor("#ffffff"))
    settings.setDestinationCrs(layer.crs())
    settings.setFlag(QgsMapSettings.Antialiasing, False)
    settings.setFlag(QgsMapSettings.DrawLabeling, False)
    settings.setExtent(QgsRectangle(x - AROUND, y - AROUND, x + AROUND, y + AROUND))
    job = QgsMapRendererSequentialJob(settings)
    job.start()
    job.waitForFinished()
    image, place = job.renderedImage(), settings.mapToPixel().transform(x, y)
    reach = range(-(SIDE // 2), SIDE // 2 + 1)
    return {
        image.pixelColor(int(place.x()) + dx, int(place.y()) + dy).name()
        for dx in reach
        for dy in reach
    }


def _fault(row: dict[str, object], colors: set[str]) -> str:
    """What is wrong with the colors of a row, empty where nothing is."""
    if not row["shown"]:
        return "" if colors == {"#ffffff"} else f"drawn: {sorted(colors)}"
    if row["kind"] != "ground":
        return "" if row["stroke"] in colors else f"{sorted(colors)}, expected {row['stroke']}"
    fill = row["fill"] or "#ffffff"
    inks = {fill, *row["inks"]}
    if row["inks"] and colors == {fill}:
        return f"no pattern on {fill}"
    return "" if fill in colors and colors <= inks else f"{sorted(colors)}, expected {fill}"


def main() -> int:
    """The command line: 0 where every row is drawn as told."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("package", type=Path)
    parser.add_argument("--python", default="/usr/bin/python3")
    parser.add_argument("--told", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.told:
        faults = drawn(str(asked.package), json.loads(asked.told.read_text("utf-8")))
        sys.stdout.write("\n".join(faults) + "\n" * bool(faults))
        return 1 if faults else 0
    told = expected(asked.package)
    path = asked.package.with_suffix(".looks.json")
    path.write_text(json.dumps(told), "utf-8")
    try:
        command = [asked.python, __file__, str(asked.package), "--told", str(path)]
        code = subprocess.run(command, check=False, env={"PATH": os.environ["PATH"]}).returncode
    finally:
        path.unlink()
    count = sum(len(rows) for styles in told.values() for rows in styles.values())
    ended = "as told" if code == 0 else "see above"
    sys.stdout.write(f"{count} rows of {len(told)} layers drawn: {ended}\n")
    return code


if __name__ == "__main__":
    sys.exit(main())
