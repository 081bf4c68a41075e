"""Pages that are handed out: one for each owner of the land, and one for each burn of the year."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.core.names import natural_key
from pipeline.core.run import Paper
from pipeline.core.table import Table
from pipeline.core.units import half_up
from pipeline.pages.cautions import CAUTIONS
from pipeline.pages.packet.packet_table import Filled, declared_table, name_words
from pipeline.pages.words import (
    bare_heading,
    date_words,
    figure_words,
    row_words,
)
from pipeline.pages.work_words import WORK_WORDS
from pipeline.records.layers import (
    BURN_REPORTS,
    OWNER_UNITS,
    RECORD_BOOK,
    TOLD_OF_BURNS,
    WORK_RECORDS,
)

Frames = Mapping[str, pd.DataFrame]


UNITS_TABLE = Table(OWNER_UNITS, "Your land", ("unit_id", "name", "gross_ac"), ("gross_ac",))


WORK_TABLE = Table(
    WORK_RECORDS, "Work", ("unit_id", "kind", "start", "end", "record_ac", "practice")
)


BURNED_TABLE = Table(
    RECORD_BOOK,
    "Units burned",
    ("unit_id", "start", "record_ac", "acres_from", "unit_pct", "unburned_inside_pct", "owner"),
    ("record_ac",),
)


A_PLAN = (
    "A plan is what we would like to do: it may change, and it allows nothing. No fire is lit by "
    "it. Acres are from the boundaries supplied."
)


A_RECORD = (
    "What was done, as it was logged. Lines are for what was not written down. It allows no other "
    "burn. Acres are from the boundaries supplied."
)


def owner_pages(frames: Frames, *, paper: Paper) -> dict[str, Any]:
    """Pages of the owners, as plain text: acres, what was done this year, what is planned."""
    owners = sorted(set(frames["owner_units"]["owner"]), key=natural_key)
    pages = [_owner_page(owner, frames) for owner in owners]
    return _handout(frames, paper, "pages for owners", pages, A_PLAN)


def burn_pages(frames: Frames, *, paper: Paper) -> dict[str, Any]:
    """Pages of the burns of the newest year that has one, as plain text."""
    reports = frames["burn_reports"]
    newest = reports[reports["start"].dt.year.eq(reports["start"].dt.year.max())]
    pages = [_burn_page(burn, frames["record_book"]) for burn in newest.to_dict("records")]
    return _handout(frames, paper, "burn reports", pages, A_RECORD)


def _handout(
    frames: Frames, paper: Paper, what: str, pages: list[dict[str, Any]], closing: str
) -> dict[str, Any]:
    """Everything that the template needs."""
    info = frames["property"].iloc[0]
    name, as_of = name_words(info["name"]), info["as_of"]
    standing = "" if pd.isna(as_of) else f", as of {date_words(as_of)}"
    return {
        "title": f"{name}: {what}, season {info['season']}",
        "under": f"{name}, season {info['season']}{standing}",
        "paper": {"letter": "us-letter", "a4": "a4"}[paper],
        "pages": pages,
        "closing": closing,
        "cautions": list(CAUTIONS),
    }


def _owner_page(owner: str, frames: Frames) -> dict[str, Any]:
    """One owner's units and work; what reaches over New Year is of both years."""
    info = frames["property"].iloc[0]
    year = int(info["season"] - 1 if pd.isna(info["as_of"]) else info["as_of"].year)
    units, work = (frames[name] for name in ("owner_units", "work_records"))
    mine, own = work[work["owner"].eq(owner)], units[units["owner"].eq(owner)]
    this_year = mine["start"].dt.year.le(year) & mine["end"].dt.year.ge(year)
    done = _work_words(mine[mine["standing"].eq("done") & this_year])
    acres = half_up(own["gross_ac"].sum(), 1)
    return {
        "title": name_words(owner),
        "aside": f"{len(own)} unit{'s' * (len(own) != 1)}, {acres:,} acres",
        "sections": [
            _section("Your land in this plan", declared_table(UNITS_TABLE, own, wide="name")),
            _section(f"What was done in {year}", done, "Nothing is on record for this year."),
            _section(
                "What is planned",
                _work_words(mine[mine["standing"].eq("planned")]),
                "Nothing is planned.",
            ),
        ],
    }


def _section(heading: str, table: Filled, nothing: str = "") -> dict[str, Any]:
    return {"heading": heading, "table": table, "nothing": nothing}


def _work_words(work: pd.DataFrame) -> Filled:
    """Work by its days, the kind in words."""
    told = work.assign(kind=work["kind"].map(WORK_WORDS)).sort_values(["start", "unit_id"])
    return declared_table(WORK_TABLE, told, wide="kind")


def _burn_page(burn: dict[Any, Any], record_book: pd.DataFrame) -> dict[str, Any]:
    """One burn: its units, and all that the log tells of it."""
    of_it = record_book["kind"].eq("burn") & record_book["start"].eq(burn["start"])
    permit = record_book["permit"]
    same = permit.isna() if pd.isna(burn["permit"]) else permit.eq(burn["permit"])
    facts = [
        [bare_heading(column), _or_blank(burn[column.name], column)]
        for column in (BURN_REPORTS.column(name) for name in TOLD_OF_BURNS)
    ]
    return {
        "title": f"Burn of {burn['start'].date()}",
        "aside": row_words(burn, BURN_REPORTS, "burned_ac"),
        "sections": [
            _section(
                "Units burned",
                declared_table(BURNED_TABLE, record_book[of_it & same], wide="acres_from"),
            ),
            {"heading": "What was written down", "facts": facts},
        ],
    }


def _or_blank(value: Any, column: Any) -> str:
    """A figure or text with its unit; nothing where a line is to be filled in."""
    return "" if pd.isna(value) else name_words(figure_words(value, column))
