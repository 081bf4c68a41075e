"""Whether a desktop GIS draws each row of a GeoPackage as the table of symbols says.

Needs QGIS with its Python bindings on the system's own Python, so it stands outside the test run:

    python tests/desktop.py PACKAGE.gpkg [--python /usr/bin/python3]

Each row of a layer of areas is drawn alone, without labels; the colors of the pixels around a point
inside it must hold the fill of its look and nothing else than the inks of its patterns.
"""

import argparse
import json
import os
import subprocess
import sys
from pathlib import Path

SIDE = 11  # pixels of the square that is looked at


AROUND = 5.0  # what is drawn on each side of the point, in units of the map [meter]


def expected(package: Path) -> dict[str, list[dict[str, object]]]:
    """What the table of symbols says of each row: fid, a point inside, its fill and its inks."""
    import geopandas as gpd
    import pyogrio

    from pipeline.pages import palette
    from pipeline.pages.palette import change_scale
    from pipeline.pages.symbols.layer_symbols import CHANGE_COLUMN, layer_styles

    there = {name for name, kind in pyogrio.list_layers(package) if kind}
    read = {name: gpd.read_file(package, layer=name, fid_as_index=True) for name in there}
    changes = read.get("greenness")
    scale = change_scale(
        [] if changes is None else changes[CHANGE_COLUMN],
        noise_floor=0 if changes is None else changes["noise_floor"].max(),
    )
    told: dict[str, list[dict[str, object]]] = {}
    for name, style in layer_styles(scale).items():
        if name not in there or style.kind != "polygon":
            continue
        told[name] = []
        for fid, row in zip(read[name].index, read[name].to_dict("records"), strict=True):
            look, over = style.look(row), style.over(row)
            inks = [palette.PATTERN_INKS[each.pattern] for each in (look, *over) if each.pattern]
            point = row["geometry"].representative_point()
            told[name].append(
                {"fid": fid, "x": point.x, "y": point.y, "fill": look.fill, "inks": inks}
            )
    return told


def drawn(package: str, told: dict[str, list[dict[str, object]]]) -> list[str]:
    """Rows that the desktop draws otherwise; runs under the Python of QGIS."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from qgis.core import (  # type: ignore[import-not-found]
        QgsApplication,
        QgsMapRendererSequentialJob,
        QgsMapSettings,
        QgsRectangle,
        QgsVectorLayer,
    )
    from qgis.PyQt.QtCore import QSize  # type: ignore[import-not-found]
    from qgis.PyQt.QtGui import QColor  # type: ignore[import-not-found]

    application = QgsApplication([], False)
    application.initQgis()
    faults = []
    for name, rows in told.items():
        layer = QgsVectorLayer(f"{package}|layername={name}", name, "ogr")
        words, loaded = layer.loadDefaultStyle()
        if not loaded:
            faults.append(f"{name}: style not loaded: {words}")
            continue
        for row in rows:
            layer.setSubsetString(f"fid = {row['fid']}")
            settings = QgsMapSettings()
            settings.setLayers([layer])
            settings.setOutputSize(QSize(900, 700))
            settings.setBackgroundColor(QColor("#ffffff"))
            settings.setDestinationCrs(layer.crs())
            settings.setFlag(QgsMapSettings.Antialiasing, False)
            settings.setFlag(QgsMapSettings.DrawLabeling, False)
            x, y = row["x"], row["y"]
            settings.setExtent(QgsRectangle(x - AROUND, y - AROUND, x + AROUND, y + AROUND))
            job = QgsMapRendererSequentialJob(settings)
            job.start()
            job.waitForFinished()
            image = job.renderedImage()
            place = settings.mapToPixel().transform(x, y)
            colors = {
                image.pixelColor(int(place.x()) + dx, int(place.y()) + dy).name()
                for dx in range(-(SIDE // 2), SIDE // 2 + 1)
                for dy in range(-(SIDE // 2), SIDE // 2 + 1)
            }
            fill = row["fill"] or "#ffffff"
            if fill not in colors or not colors <= {fill, *row["inks"]}:
                faults.append(f"{name} {row['fid']}: {sorted(colors)}, expected {fill}")
            if row["inks"] and colors == {fill}:
                faults.append(f"{name} {row['fid']}: no pattern on {fill}")
    return faults


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
    count = sum(map(len, told.values()))
    ended = "as told" if code == 0 else "see above"
    sys.stdout.write(f"{count} rows of {len(told)} layers drawn: {ended}\n")
    return code


if __name__ == "__main__":
    sys.exit(main())
