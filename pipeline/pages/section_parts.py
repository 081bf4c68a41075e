"""What the sections of the report are put together from."""

from collections.abc import Mapping

import pandas as pd

from pipeline.core.table import Table
from pipeline.pages.markup import Markup, joined, tag
from pipeline.pages.report_tables import draw_table

Frames = Mapping[str, pd.DataFrame]


def tables(frames: Frames, *asked: Table) -> Markup:
    """Tables one below the other; unit names lead to the map."""
    numbers = {unit: n for n, unit in enumerate(frames["units"]["unit_id"])}
    return joined(draw_table(t, frames[t.layer.name], units=numbers) for t in asked)


def folded(title: str, content: Markup) -> Markup:
    """Content that is folded until asked for; on paper it is left out."""
    if not content:
        return content
    return tag("details", tag("summary", title), content, attributes={"class": "screen"})


def off_paper(content: Markup) -> Markup:
    """Content of the screen alone: the packet prints it for the crew."""
    return tag("div", content, attributes={"class": "screen"}) if content else content
