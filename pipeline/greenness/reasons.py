"""Why a unit has no figure."""

import numpy as np
import pandas as pd

from pipeline.core.units import half_up
from pipeline.greenness.settings import GreennessSettings


def gate_reasons(stats: pd.DataFrame, settings: GreennessSettings) -> pd.Series:
    """Why each zone's figures are not to be used, None where they are.

    *Source*: size and edge: P. Vajsova et al., Remote Sensing 12 (2020) 2195.
    """

    def reason(row: pd.Series) -> str | None:
        if row["lost_pct"] >= settings.most_lost_pct:
            return (
                f"too small or too narrow: {half_up(row['lost_pct'], 0)} percent of it is edge, "
                f"where pixels also show the ground outside"
            )
        if np.isnan(row["valid_pct"]):
            return "it lies where the picture's reference system shows no ground"
        if row["full_pixels"] < settings.least_full_pixels:
            return (
                f"too small for these pixels: {int(row['full_pixels'])} whole pixels, "
                f"{settings.least_full_pixels} are needed"
            )
        if not row["valid_pct"] >= settings.least_valid_pct:
            return f"only {half_up(row['valid_pct'], 0)} percent of it has usable pixels"
        return None

    reasons = [reason(row) for _, row in stats.iterrows()]
    return pd.Series(reasons, index=stats.index, dtype=object)
