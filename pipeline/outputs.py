"""The table of outputs: every file of a run folder, and the layer without which it is left out."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.io import geopackage, gps, sheets
from pipeline.settings import PropertyFile

if TYPE_CHECKING:
    import pandas as pd
    from pyproj import CRS


@dataclass(frozen=True, slots=True)
class Run:
    """A finished run: its layers by name, each as declared, and what the writers need besides.

    ``stamp`` is the time (ISO 8601, UTC) that stands in the files: that of the newest source, so
    that the same sources give the same bytes.
    """

    property_file: PropertyFile
    slug: str
    frames: "Mapping[str, pd.DataFrame]"
    crs: "CRS"
    stamp: str


@dataclass(frozen=True, slots=True)
class Output:
    """One file. ``name`` may hold ``{slug}``; ``needs`` is the layer that must have rows."""

    name: str
    write: Callable[[Run, Path], None]
    needs: str | None = None


OUTPUTS: tuple[Output, ...] = (
    Output("{slug}.gpkg", geopackage.write_geopackage),
    Output("seed_order.csv", sheets.write_seed_order_csv, needs="seed_order"),
    Output("seed_order.xlsx", sheets.write_seed_order_xlsx, needs="seed_order"),
    Output("mow_lines.gpx", gps.write_gpx, needs="mow_passes"),
)


def write_outputs(run: Run, folder: Path) -> list[Path]:
    """Write every output that the run has the layers for; the paths written, in their order."""
    written = []
    for output in OUTPUTS:
        if output.needs is None or len(run.frames[output.needs]):
            path = folder / output.name.format(slug=run.slug)
            output.write(run, path)
            written.append(path)
    return written
