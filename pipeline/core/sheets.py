"""The tables that tell what a run rests on: its settings and its sources."""

from pipeline.core.layers import SETTINGS, SOURCES
from pipeline.core.table import Table

CHANGED_SETTINGS_TABLE = Table(
    SETTINGS,
    "Settings changed from their defaults",
    ("setting", "section", "value", "unit", "meaning"),
)

ALL_SETTINGS_TABLE = Table(
    SETTINGS,
    "Every setting of this run",
    ("setting", "section", "value", "unit", "meaning", "origin", "reference"),
)

SOURCES_TABLE = Table(
    SOURCES,
    "Files read",
    ("source", "path", "sha256", "driver", "crs", "rows_read", "rows_used"),
)
