"""Acres a year that seed of the property's own strips sows, and where the figure comes from."""

from dataclasses import dataclass
from typing import Literal

import pandas as pd

from pipeline.ahead.settings import PlanSettings
from pipeline.core.names import spelling

OwnSeedFrom = Literal["setting", "harvests", "none"]


@dataclass(frozen=True, slots=True)
class OwnSeed:
    """Acres a year, what they rest on, and the species of the harvests that runs out first."""

    year_ac: float
    told_by: OwnSeedFrom
    scarce: str | None = None


def own_seed(own_harvest: pd.DataFrame, treatment_log: pd.DataFrame, plan: PlanSettings) -> OwnSeed:
    """What own seed sows in a year: by your setting, else by the harvests that are told.

    Each species covers what all harvests of it cover at the low estimate; a field needs each of
    them, so the scarcest decides. Harvests that the log has in several years are shared out among
    these. *Assumes* that each year ahead brings as much. Judgment of this program, no source.
    """
    if plan.own_seed_ac is not None:
        return OwnSeed(plan.own_seed_ac, "setting")
    covers = own_harvest.groupby("species")["low_ac"].sum(min_count=1).dropna()
    if covers.empty:
        return OwnSeed(0.0, "none")
    years = max(1, len(_years(own_harvest, treatment_log)))
    return OwnSeed(float(covers.min()) / years, "harvests", str(covers.idxmin()))


def _years(own_harvest: pd.DataFrame, treatment_log: pd.DataFrame) -> set[int]:
    """Years in which the log gathers seed of the harvests."""
    names = {spelling(name) for name in own_harvest["harvest"]}
    gathered = treatment_log[treatment_log["kind"] == "harvest"].dropna(subset=["lot"])
    return {
        start.year
        for start, lots in zip(gathered["start"], gathered["lot"], strict=True)
        if names & {spelling(lot) for lot in lots.split(";")}
    }
