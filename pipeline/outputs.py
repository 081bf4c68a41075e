"""The table of outputs: every file of a run folder, and the layer without which it is left out."""

import importlib.util
import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from pipeline.core.names import listed
from pipeline.core.run import Run
from pipeline.write import (
    change_map,
    geopackage,
    pages,
    rate_shapefile,
    record_sheets,
    season_calendar,
    season_sheets,
    years_ahead,
)
from pipeline.write import workbook as sheets
from pipeline.write.field import field_geopackage, gpx, kml, kmz

log = logging.getLogger("swardline")


@dataclass(frozen=True, slots=True)
class Output:
    """One file. ``name`` may hold ``{slug}``; ``needs`` is the layer that must have rows.

    ``either`` are layers of which one must have rows, ``extra`` the modules of an optional extra.
    """

    name: str
    write: Callable[[Run, Path], None]
    needs: str | None = None
    either: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()

    def called_for(self, frames: "Mapping[str, pd.DataFrame]") -> bool:
        """Whether the layers have what the file is made from."""
        if self.needs is not None and not len(frames[self.needs]):
            return False
        return not self.either or any(len(frames[name]) for name in self.either)

    @property
    def missing(self) -> list[str]:
        """The modules that it is made with and that are not installed."""
        return [name for name in self.extra if importlib.util.find_spec(name) is None]


SEEN = ("plant_cover", "patch_ground", "photo_points")
PACKET_OF = ("burn_blocks", "seed_areas", "conflicts", "tasks", *SEEN)
SEASON_OF = ("tasks", "conflicts", "phenology_dates", *SEEN)
OF_PACKET = ("typst", "pikepdf", "segno")
RECORDS_OF = ("record_book", "plan_records", "work_records", "blank_log")


OUTPUTS: tuple[Output, ...] = (
    Output("{slug}.gpkg", geopackage.write_geopackage),
    Output("report.html", pages.write_report),
    Output("packet.pdf", pages.write_packet, either=PACKET_OF, extra=OF_PACKET),
    Output("burn_reports.pdf", pages.write_burn_pages, needs="burn_reports", extra=("typst",)),
    Output("owners.pdf", pages.write_owner_pages, needs="owner_units", extra=("typst",)),
    Output("seed_order.csv", sheets.write_seed_order_csv, needs="seed_order"),
    Output("seed_order.xlsx", sheets.write_seed_order_xlsx, needs="seed_order"),
    Output("season.ics", season_calendar.write_season_calendar, needs="tasks"),
    Output("years_ahead.ics", years_ahead.write_years_calendar, needs="plan_years"),
    Output("next_burns.toml", years_ahead.write_next_burns, needs="plan_years"),
    Output("season.xlsx", season_sheets.write_season_xlsx, either=SEASON_OF),
    Output("tasks.csv", season_sheets.write_tasks_csv, needs="tasks"),
    Output("records.xlsx", record_sheets.write_records_xlsx, either=RECORDS_OF),
    Output("blank_log.csv", record_sheets.write_blank_log_csv, needs="blank_log"),
    Output("mow_lines.gpx", gpx.write_gpx, needs="mow_passes"),
    Output("greenness_change.tif", change_map.write_change_map, needs="change_maps"),
    Output("mow_lines.kml", kml.write_kml, needs="mow_passes"),
    Output("field_plan.gpkg", field_geopackage.write_field_plan, needs="units"),
    Output("field_plan.kmz", kmz.write_kmz, needs="units", extra=("typst",)),
    Output("photo_points.gpx", gpx.write_photo_places, needs="photo_points"),
    Output("seed_rates.zip", rate_shapefile.write_rate_shapefile, needs="seed_areas"),
)


RENDERED = tuple(output for output in OUTPUTS if output.write is not geopackage.write_geopackage)
"""What can be made again from a finished GeoPackage."""


def write_outputs(run: Run, folder: Path, outputs: tuple[Output, ...]) -> list[Path]:
    """Write every output that the run has the layers for; the paths written, in their order."""
    written = []
    for output in outputs:
        if not output.called_for(run.frames):
            continue
        if output.missing:
            needed = listed(output.missing)
            log.warning(f"{output.name} left out: it needs the optional package {needed}")
            continue
        path = folder / output.name.format(slug=run.slug)
        output.write(run, path)
        written.append(path)
    return written
