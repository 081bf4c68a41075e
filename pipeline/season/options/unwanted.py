"""Woody and noxious plants of each unit, from surveys and from patches."""

import pandas as pd

from pipeline.core.names import spelling
from pipeline.season.options.layers import UNWANTED
from pipeline.season.plants.groups import WOODY, noxious_flags


def tell_unwanted(
    units: pd.DataFrame,
    plant_groups: pd.DataFrame,
    patch_years: pd.DataFrame,
    plant_species: pd.DataFrame,
    property: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``unwanted``: share of woody and of noxious plants, nothing where none was looked for.

    The newest survey and the newest year of each kind of patch count; the larger of the two.
    """
    table = pd.DataFrame({"unit_id": units["unit_id"]})
    state = property["state"].iloc[0]
    for name, group in (("woody_pct", "woody"), ("noxious_pct", "noxious")):
        told = [_on_transects(plant_groups, group), _in_patches(patch_years, plant_species, state)]
        shares = pd.concat([told[0], told[1].get(group, told[0].iloc[:0])])
        table[name] = table["unit_id"].map(shares.groupby(level=0).max())
    return table[UNWANTED.column_names]


def _on_transects(plant_groups: pd.DataFrame, group: str) -> "pd.Series[float]":
    """Cover [percent] of a group on each unit's newest survey; 0 where the survey has none."""
    newest = plant_groups[
        plant_groups["date"] == plant_groups.groupby("unit_id")["date"].transform("max")
    ]
    of_group = newest["cover_pct"].where(newest["group"] == group, 0.0).astype("float64")
    return of_group.groupby(newest["unit_id"]).sum()


def _in_patches(
    patch_years: pd.DataFrame, plant_species: pd.DataFrame, state: object
) -> dict[str, "pd.Series[float]"]:
    """Share [percent] of each unit in patches whose kind is the name of a plant of a group."""
    latest = patch_years.groupby(["unit_id", "kind"])["year"].transform("max")
    newest = patch_years[patch_years["year"] == latest]
    groups = newest["kind"].map(
        {kind: patch_group(kind, plant_species, state) for kind in newest["kind"].unique()}
    )
    sums = newest["share_pct"].groupby([groups, newest["unit_id"]]).sum().clip(upper=100.0)
    return {group: sums[group] for group in ("woody", "noxious") if group in sums.index}


def patch_group(kind: str, plant_species: pd.DataFrame, state: object) -> str | None:
    """Group of a kind of patch by the common names that it is a part of: noxious, woody or none."""
    word = spelling(kind)
    named = plant_species["common_name"].fillna("").map(spelling)
    meant = named.map(lambda name: bool(name) and (word in name or name in word))
    if (noxious_flags(plant_species["noxious_in"], state) & meant).any():
        return "noxious"
    return "woody" if (plant_species["growth"].isin(WOODY) & meant).any() else None
