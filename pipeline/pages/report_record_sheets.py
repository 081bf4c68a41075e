"""The tables of the report on where its figures come from."""

from pipeline.pages.report_tables import Sheet, Shown, number, text
from pipeline.pages.words import text_words

SETTINGS = Sheet(
    "settings",
    "Settings changed from their defaults",
    (
        text("setting", "Setting"),
        text("section", "Section"),
        text("value", "Value"),
        text("unit", "Unit of it"),
        text("meaning", "What it does"),
    ),
)


ALL_SETTINGS = Sheet(
    "settings", "Every setting of this run",
    (*SETTINGS.columns, text("origin", "From"), text("reference", "Source of the default")),
)  # fmt: skip


SOURCES = Sheet(
    "sources",
    "Files read",
    (
        text("source", "Role"),
        text("path", "File"),
        Shown("sha256", "SHA-256", text_words, kind="sha"),
        text("driver", "Read as"),
        text("crs", "CRS"),
        number("rows_read", "Rows read"),
        number("rows_used", "used"),
    ),
)
