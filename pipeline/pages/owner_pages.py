"""A page for each owner of the land: acres, what was done this year, what is planned, cautions."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from pipeline.core.names import natural_key
from pipeline.core.run import Paper
from pipeline.core.table import Table
from pipeline.core.units import half_up
from pipeline.pages.cautions import CAUTIONS
from pipeline.pages.packet.packet_table import Filled, declared_table, name_words
from pipeline.pages.words import date_words
from pipeline.pages.work_words import WORK_WORDS
from pipeline.records.layers import OWNER_UNITS, WORK_RECORDS

Frames = Mapping[str, pd.DataFrame]


UNITS_TABLE = Table(OWNER_UNITS, "Your land", ("unit_id", "name", "gross_ac"), ("gross_ac",))


WORK_TABLE = Table(
    WORK_RECORDS, "Work", ("unit_id", "kind", "start", "end", "record_ac", "practice")
)


def owner_pages(frames: Frames, *, paper: Paper) -> dict[str, Any]:
    """Everything that the template needs, as plain text."""
    info = frames["property"].iloc[0]
    year = int(info["season"] - 1 if pd.isna(info["as_of"]) else info["as_of"].year)
    owners = sorted(set(frames["owner_units"]["owner"]), key=natural_key)
    return {
        "title": f"{name_words(info['name'])}: pages for owners, season {info['season']}",
        "property": name_words(info["name"]),
        "season": str(info["season"]),
        "year": str(year),
        "as_of": "" if pd.isna(info["as_of"]) else date_words(info["as_of"]),
        "paper": {"letter": "us-letter", "a4": "a4"}[paper],
        "owners": [_page(owner, frames, year) for owner in owners],
        "cautions": list(CAUTIONS),
    }


def _page(owner: str, frames: Frames, year: int) -> dict[str, Any]:
    """One owner's units and work; what reaches over New Year is of both years."""
    units, work = (frames[name] for name in ("owner_units", "work_records"))
    mine, own = work[work["owner"].eq(owner)], units[units["owner"].eq(owner)]
    this_year = mine["start"].dt.year.le(year) & mine["end"].dt.year.ge(year)
    acres = half_up(own["gross_ac"].sum(), 1)
    return {
        "owner": name_words(owner),
        "acres": f"{len(own)} unit{'s' * (len(own) != 1)}, {acres:,} acres",
        "units": declared_table(UNITS_TABLE, own, wide="name"),
        "done": _told(mine[mine["standing"].eq("done") & this_year]),
        "planned": _told(mine[mine["standing"].eq("planned")]),
    }


def _told(work: pd.DataFrame) -> Filled:
    """Work by its days, the kind in words."""
    told = work.assign(kind=work["kind"].map(WORK_WORDS)).sort_values(["start", "unit_id"])
    return declared_table(WORK_TABLE, told, wide="kind")
