"""The crew packet as data: a page for each burn block and each seeding area, more where needed.

Everything on the pages is text made here from the layers; the template only places it.
"""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd
import pandas as pd

from pipeline.core.names import natural_key
from pipeline.core.run import Paper
from pipeline.pages.cautions import CAUTIONS
from pipeline.pages.packet.block_page import block_page
from pipeline.pages.packet.gate_code import gate_code
from pipeline.pages.packet.overview_page import overview_page
from pipeline.pages.packet.packet_table import name_words
from pipeline.pages.packet.records_page import records_page
from pipeline.pages.packet.season_pages import options_page, other_page, season_page
from pipeline.pages.packet.seed_page import SEED_CAUTIONS, seed_page
from pipeline.pages.packet.sheet_layout import PAPER_PT
from pipeline.pages.road.road_page import road_page
from pipeline.pages.words import NOTHING, date_words, rows


def packet_pages(
    frames: Mapping[str, gpd.GeoDataFrame], *, paper: Paper, stamp: str = ""
) -> dict[str, Any]:
    """Everything the template needs, as plain text and numbers.

    ``stamp`` is the time of the newest source (ISO 8601), told on every sheet.
    """
    info = rows(frames["property"])[0]
    return {
        "title": f"{name_words(info['name'])}: crew packet {info['season']}",
        "property": name_words(info["name"]),
        "season": str(info["season"]),
        "paper": list(PAPER_PT[paper]),
        "standing": _standing(info["as_of"], stamp),
        "season_sheet": season_page(frames),
        "overview": overview_page(frames, paper),
        "blocks": [
            block_page(row, frames, paper) | {"gate_code": gate_code(row, frames)}
            for row in _counted(frames["burn_blocks"], "block")
        ],
        "areas": [seed_page(row, frames, paper) for row in _counted(frames["seed_areas"], "area")],
        "options": options_page(frames),
        "years": road_page(frames),
        "other": other_page(frames),
        "records": records_page(frames),
        "burn_cautions": list(CAUTIONS),
        "seed_cautions": list(SEED_CAUTIONS),
    }


def _counted(frame: pd.DataFrame, name: str) -> list[dict[str, Any]]:
    """Rows of a layer in the order in which people count their names."""
    return sorted(rows(frame), key=lambda row: natural_key(row[name]))


def _standing(as_of: Any, stamp: str) -> str:
    """The day the plan is looked at from and that of its newest source, as far as known."""
    told = [("as of", date_words(as_of)), ("newest source of", stamp[:10] or NOTHING)]
    return ", ".join(f"{words} {day}" for words, day in told if day != NOTHING)
