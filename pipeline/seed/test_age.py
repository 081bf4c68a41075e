"""How long a seed test counts where the seed is sown."""

import pandas as pd

from pipeline.core.places import place_key
from pipeline.seed.settings import SeedSettings


def test_months(test_rules: pd.DataFrame, state: str | None, settings: SeedSettings) -> int | None:
    """Months for which a test is good: of the settings, else of the state's rule; None: unknown."""
    if settings.test_months is not None or state is None:
        return settings.test_months
    of_state = test_rules.loc[test_rules["state"].map(place_key).eq(place_key(state)), "months"]
    return None if of_state.empty else int(of_state.min())
