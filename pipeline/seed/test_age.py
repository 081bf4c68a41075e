"""How long a seed test counts: months by the law of the state where the seed is sown."""

import calendar
from dataclasses import dataclass
from datetime import date

import pandas as pd

from pipeline.core.places import place_key
from pipeline.core.species_names import resolved_column
from pipeline.seed.settings import SeedSettings


@dataclass(frozen=True, slots=True)
class AgeRule:
    """Full months after the month of a test for which it counts; None where that is unknown.

    These laws govern the sale of seed. Seed of native kinds and seed that is packed hermetically
    may have more time. ``reference`` names the law, or why no months are known.
    """

    months: int | None = None
    native_months: int | None = None
    sealed_months: int | None = None
    reference: str | None = None

    def months_of(self, *, native: bool, sealed: bool) -> int | None:
        """Months for a lot; those of plain seed where the rule has no others."""
        told = self.native_months if native else None
        told = self.sealed_months if sealed and self.sealed_months is not None else told
        return self.months if told is None else told


def age_rule(test_rules: pd.DataFrame, state: str | None, settings: SeedSettings) -> AgeRule:
    """The rule of the settings, else of the state's law; without months where neither says any."""
    if settings.test_months is not None or state is None:
        return AgeRule(settings.test_months)
    return written_rule(test_rules, state)


def written_rule(test_rules: pd.DataFrame, place: str) -> AgeRule:
    """The rule of a row of the table; without months where it has no such row."""
    of_state = test_rules[test_rules["state"].map(place_key).eq(place_key(place))]
    if of_state.empty:
        return AgeRule()
    row = of_state.sort_values("months").iloc[0]
    counted = 1 if pd.notna(row["test_month_counts"]) and row["test_month_counts"] else 0
    months, native_months, sealed_months = (
        None if pd.isna(row[name]) else int(row[name]) - counted
        for name in ("months", "native_months", "sealed_months")
    )
    return AgeRule(months, native_months, sealed_months, row["reference"])


def months_of_lots(lots: pd.DataFrame, species: pd.DataFrame, rule: AgeRule) -> pd.Series:
    """Months for which the test of each lot counts; a species of the seed table is native."""
    native = resolved_column(lots["species"], species).isin(species["species"])
    sealed = lots["sealed"].fillna(False).astype(bool)
    months = [
        rule.months_of(native=is_native, sealed=is_sealed)
        for is_native, is_sealed in zip(native, sealed, strict=True)
    ]
    return pd.Series(months, index=lots.index, dtype=object)


def last_good_day(tested: date, months: int) -> date:
    """Last day on which a test counts: full months, from the end of the month of the test."""
    month = tested.month - 1 + months
    year, month = tested.year + month // 12, month % 12 + 1
    return date(year, month, calendar.monthrange(year, month)[1])


def last_good_days(tested: pd.Series, months: pd.Series) -> pd.Series:
    """Last day on which the test of each lot counts; NaT where test or rule is unknown."""
    days = [
        pd.NaT if pd.isna(day) or pd.isna(n) else pd.Timestamp(last_good_day(day.date(), int(n)))
        for day, n in zip(tested, months, strict=True)
    ]
    return pd.Series(days, index=tested.index, dtype="datetime64[s]")
