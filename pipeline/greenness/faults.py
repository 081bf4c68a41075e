"""What is wrong with the pictures' masks, told before anything is computed."""

import pandas as pd

from pipeline.core.errors import Fault
from pipeline.core.names import suggestion


def greenness_faults(scenes: pd.DataFrame, mask_presets: pd.DataFrame) -> list[Fault]:
    """Presets of quality rasters that the table of presets does not have."""
    known = sorted(mask_presets["preset"].unique())
    odd = scenes[scenes["mask_preset"].notna() & ~scenes["mask_preset"].isin(known)]
    return [
        Fault(
            f"[[sources.scenes]] {row.scene}: {row.name}",
            f'mask preset "{row.mask_preset}"',
            "a preset of [sources.mask_presets]",
            suggestion(row.mask_preset, known) if known else "give [sources.mask_presets]",
        )
        for row in odd.itertuples(index=False)
    ]
