"""One name for each species, whatever the table calls it."""

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from pipeline.core.names import spelling


@dataclass(frozen=True, slots=True)
class SpeciesNames:
    """Every spelling of the species table and the scientific names it may stand for."""

    meant: dict[str, tuple[str, ...]]

    def resolved(self, name: str) -> str:
        """Scientific name; a name that is unknown, or could mean two species, stays as it is."""
        found = self.meant.get(spelling(name), ())
        return found[0] if len(found) == 1 else " ".join(name.split())

    def unknown(self, names: Iterable[str]) -> list[str]:
        """Names that no species of the table has, each once, in their order."""
        return list(dict.fromkeys(n for n in names if not self.meant.get(spelling(n))))

    def unclear(self, names: Iterable[str]) -> dict[str, tuple[str, ...]]:
        """Names that two species share, with both."""
        found = {name: self.meant.get(spelling(name), ()) for name in names}
        return {name: both for name, both in found.items() if len(both) > 1}


def species_names(species: pd.DataFrame) -> SpeciesNames:
    """Lookup from scientific and common names, synonyms and plant symbols to the first.

    A scientific name always means its own species, even where another lists it as a synonym.
    """
    by_other_name: dict[str, list[str]] = {}
    scientific = {spelling(name): name for name in species["species"]}
    for row in species.itertuples(index=False):
        others = (row.synonyms or "").split(";")
        for name in (row.common_name, row.usda_symbol, *others):
            key = spelling(name) if name else ""
            if (
                key
                and key not in scientific
                and row.species not in by_other_name.setdefault(key, [])
            ):
                by_other_name[key].append(row.species)
    known = {key: tuple(names) for key, names in by_other_name.items()}
    return SpeciesNames(known | {key: (name,) for key, name in scientific.items()})


def resolved_column(names: pd.Series, species: pd.DataFrame) -> pd.Series:
    """Column of names as the species table spells them; each distinct name is looked up once."""
    lookup = species_names(species)
    return names.map({name: lookup.resolved(name) for name in names.unique()}).astype("object")


def species_value(names: pd.Series, species: pd.DataFrame, column: str) -> pd.Series:
    """Column of the species table for resolved names; missing where the species is unknown."""
    return names.map(species.set_index("species")[column])
