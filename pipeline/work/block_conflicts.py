"""How many conflicts stand against each burn block, to be joined to the blocks on a map."""

import pandas as pd

from pipeline.work.layers import SERIOUSNESS


def count_block_conflicts(burn_blocks: pd.DataFrame, conflicts: pd.DataFrame) -> pd.DataFrame:
    """Table ``block_conflicts``: a row for each burn block, with its conflicts of each kind."""
    counts = pd.crosstab(conflicts["block"], conflicts["seriousness"])
    counts = counts.reindex(index=burn_blocks["block"], columns=list(SERIOUSNESS), fill_value=0)
    return counts.reset_index()
