"""Why the plan of years chooses what it does, in words."""

from collections.abc import Mapping

import pandas as pd

from pipeline.ahead.words import NO_BURN_WORDS, REASON_WORDS
from pipeline.pages.words import code_words


def worded_years(plan_years: pd.DataFrame) -> pd.DataFrame:
    """Layer ``plan_years`` with its codes of reasons and rules in words.

    One code may be a reason and a rule, and other layers have codes of the same letters.
    """
    return plan_years.assign(
        reason=_worded(plan_years["reason"], REASON_WORDS),
        no_burn_by=_worded(plan_years["no_burn_by"], NO_BURN_WORDS),
        breaks_rule=_worded(plan_years["breaks_rule"], NO_BURN_WORDS),
    )


def worded_units(plan_units: pd.DataFrame) -> pd.DataFrame:
    """Table ``plan_units`` with what keeps fire off and what is missing in words."""
    return plan_units.assign(
        undecided_by=_worded(plan_units["undecided_by"], REASON_WORDS),
        no_burn_by=_worded(plan_units["no_burn_by"], NO_BURN_WORDS),
        last_burn_time=plan_units["last_burn_time"].map(code_words, na_action="ignore"),
        last_grazed=plan_units["last_grazed"].map(code_words, na_action="ignore"),
    )


def _worded(codes: pd.Series, words: Mapping[str, str]) -> pd.Series:
    """Codes in words; one that has none as it is."""
    return codes.map(lambda code: words.get(code, code), na_action="ignore")
