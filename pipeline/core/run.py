"""A finished run: what the writers make their files from."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import pandas as pd
from pyproj import CRS

Paper = Literal["letter", "a4"]


@dataclass(frozen=True, slots=True)
class Run:
    """A finished run: its layers by name, each as declared, and what the writers need besides.

    All that is written is made from the layers alone, so that a finished GeoPackage is enough.

    ``stamp`` is the time (ISO 8601, UTC) that stands in the files: that of the newest source, so
    that the same sources give the same bytes.
    """

    slug: str
    frames: "Mapping[str, pd.DataFrame]"
    crs: CRS
    stamp: str

    @property
    def name(self) -> str:
        """Name of the property."""
        return str(self.frames["property"]["name"].iloc[0])

    @property
    def season(self) -> int:
        """Calendar year of the season being prepared."""
        return int(self.frames["property"]["season"].iloc[0])

    @property
    def paper(self) -> Paper:
        """Paper of what is printed: letter or a4."""
        value_by_setting = self.frames["settings"].set_index(["section", "setting"])["value"]
        return "a4" if value_by_setting.get(("report", "paper")) == "a4" else "letter"
