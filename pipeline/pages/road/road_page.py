"""The years of all units on a sheet of the packet."""

from typing import Any

from pipeline.pages.packet.packet_table import name_words
from pipeline.pages.road.road_section import KEY, state_words
from pipeline.pages.road.unit_years import Frames, newest_state, unit_years, years_words
from pipeline.pages.road.years_drawing import draw_years


def road_page(frames: Frames) -> dict[str, Any] | None:
    """The drawings of the sheet with their titles and words; None without any years."""
    told = unit_years(frames)
    if told is None:
        return None
    units, scales = told
    figures = []
    for unit in units:
        title = f"{name_words(unit.name)}: {state_words(newest_state(frames, unit.unit_id))}"
        words = years_words(unit)
        drawn = draw_years(unit, scales, key="years", title=title, words=words, paper=True)
        figures.append({"title": title, "svg": str(drawn), "alt": f"{title}. {words}"})
    return {
        "name": f"The years {scales.first_year} to {scales.last_year}",
        "key": KEY,
        "figures": figures,
    }
