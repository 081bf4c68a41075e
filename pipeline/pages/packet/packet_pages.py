"""The crew packet as data: a page for each burn block and each seeding area, more where needed.

Everything on the pages is text made here from the layers; the template only places it.
"""

from collections.abc import Mapping
from typing import Any

import geopandas as gpd

from pipeline.core.run import Paper
from pipeline.pages.cautions import CAUTIONS
from pipeline.pages.packet.block_page import block_page
from pipeline.pages.packet.packet_table import name_words
from pipeline.pages.packet.seed_page import SEED_CAUTIONS, seed_page
from pipeline.pages.words import rows


def packet_pages(frames: Mapping[str, gpd.GeoDataFrame], *, paper: Paper) -> dict[str, Any]:
    """Everything the template needs, as plain text and numbers."""
    info = rows(frames["property"])[0]
    return {
        "title": f"{name_words(info['name'])}: crew packet {info['season']}",
        "property": name_words(info["name"]),
        "season": str(info["season"]),
        "paper": {"letter": "us-letter", "a4": "a4"}[paper],
        "blocks": [block_page(row, frames, paper) for row in rows(frames["burn_blocks"])],
        "areas": [seed_page(row, frames) for row in rows(frames["seed_areas"])],
        "burn_cautions": list(CAUTIONS),
        "seed_cautions": list(SEED_CAUTIONS),
    }
