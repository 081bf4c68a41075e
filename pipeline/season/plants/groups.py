"""Groups of plants that a manager looks at, and the group of each species."""

import pandas as pd

from pipeline.season.plants.ground_words import GROUND

GROUPS = (
    "native_warm_grass",
    "native_cool_grass",
    "native_sedge",
    "native_forb",
    "native_legume",
    "woody",
    "exotic_cool_grass",
    "noxious",
    "other_introduced",
    "unknown",
    *GROUND,
)
"""Codes in the order that they are told in. A noxious plant is in no other group, and a shrub or
tree is woody whether it is native or not."""


NATIVE_GROUP_BY_GROWTH = {
    "warm-season grass": "native_warm_grass",
    "cool-season grass": "native_cool_grass",
    "sedge": "native_sedge",
    "legume": "native_legume",
}


def in_group_order(frame: pd.DataFrame) -> pd.DataFrame:
    """Rows of each unit and survey with their groups in the order that they are told in."""
    ranked = frame.assign(_rank=frame["group"].map(GROUPS.index))
    order = [name for name in ("unit_id", "date", "_rank", "species") if name in ranked]
    order = [name for name in order if name != "species" or ranked[name].dtype == object]
    return ranked.sort_values(order, kind="stable", na_position="first").drop(columns="_rank")


WOODY = ("shrub", "tree")


ANYWHERE = "any"
"""Stands in ``noxious_in`` for a weed that counts as noxious wherever it is."""


def noxious_flags(noxious_in: pd.Series, state: object) -> pd.Series:
    """Whether each plant is on the state's list; on none where the state is not told."""
    wanted = {ANYWHERE} if pd.isna(state) else {ANYWHERE, str(state).casefold()}
    return noxious_in.map(
        lambda cell: (
            not pd.isna(cell)
            and not wanted.isdisjoint(part.strip().casefold() for part in str(cell).split(";"))
        )
    ).astype(bool)


def group_codes(covers: pd.DataFrame, state: object) -> pd.Series:
    """Group of each row of the covers of surveys."""
    growth, nativity = covers["growth"], covers["nativity"]
    group = pd.Series("unknown", index=covers.index, dtype=object)
    group = group.mask(nativity == "introduced", "other_introduced")
    exotic_cool = (nativity == "introduced") & (growth == "cool-season grass")
    group = group.mask(exotic_cool, "exotic_cool_grass")
    native = growth.map(lambda cell: NATIVE_GROUP_BY_GROWTH.get(cell, "native_forb"))
    group = group.mask(nativity == "native", native)
    group = group.mask(growth.isin(WOODY), "woody")
    group = group.mask(noxious_flags(covers["noxious_in"], state), "noxious")
    return group.where(covers["ground"].isna(), covers["ground"])
