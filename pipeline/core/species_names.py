"""One name for each species, whatever a list, an order or a tag calls it."""

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import pandas as pd

from pipeline.core.names import folded
from pipeline.core.trade_names import trade_name

SAME_GENUS = (
    ("Aster", "Symphyotrichum", "Doellingeria", "Eurybia", "Oligoneuron"),
    ("Solidago", "Oligoneuron", "Euthamia"),
    ("Andropogon", "Schizachyrium", "Bothriochloa"),
    ("Agropyron", "Pascopyrum", "Elymus", "Pseudoroegneria", "Thinopyrum"),
    ("Stipa", "Hesperostipa", "Nassella", "Achnatherum", "Oryzopsis", "Eriocoma"),
    ("Buchloe", "Bouteloua"),
    ("Hilaria", "Pleuraphis"),
    ("Petalostemum", "Petalostemon", "Dalea"),
    ("Cassia", "Chamaecrista", "Senna"),
    ("Eupatorium", "Eutrochium", "Eupatoriadelphus"),
    ("Potentilla", "Drymocallis", "Dasiphora"),
    ("Verbena", "Glandularia"),
    ("Rudbeckia", "Dracopis"),
    ("Scirpus", "Schoenoplectus", "Bolboschoenus"),
    ("Anemone", "Pulsatilla"),
    ("Cacalia", "Arnoglossum"),
    ("Kuhnia", "Brickellia"),
    ("Panicum", "Dichanthelium"),
    ("Senecio", "Packera"),
    ("Gentiana", "Gentianella"),
)
"""Genera between which species were moved; the epithet stayed. *Source*: from memory, to be
checked against USDA PLANTS."""


LATIN_ENDING = re.compile(r"(?:ii?|us|a|um|is|e)$")
"""Endings of an epithet that go with the gender of its genus, or are doubled or not."""


SAME_WORDS = (("gayfeather", "blazingstar"), ("roundheaded", "roundhead"), ("canadian", "canada"))
"""Words of common names that mean the same; joined, hyphenated or apart is not looked at."""


LONG_NAME = 9
"""Letters up to which one slip is allowed in a Latin name, and two beyond. Judgment."""


@dataclass(frozen=True, slots=True)
class SpeciesNames:
    """Every spelling of the species table and the scientific names it may stand for."""

    meant: dict[str, tuple[str, ...]]
    spelled: dict[str, str] = field(default_factory=dict)
    latin: "LatinNames | None" = None

    def found(self, name: str) -> tuple[str, ...]:
        """Scientific names that a name may stand for: one, several, or none."""
        for reading in (name, *trade_name(name).readings):
            if meant := self.meant.get(name_key(reading)):
                return meant
        return self.slip(name)

    def slip(self, name: str) -> tuple[str, ...]:
        """Scientific names meant by a Latin name that is old, or misspelt by a letter or two."""
        if self.latin is None:
            return ()
        for reading in trade_name(name).readings:
            if meant := self.latin.near(reading):
                return meant
        return ()

    def resolved(self, name: str) -> str:
        """Scientific name; a name that is unknown, or could mean two species, stays as it is."""
        found = self.found(name)
        return found[0] if len(found) == 1 else " ".join(str(name).split())

    def unknown(self, names: Iterable[str]) -> list[str]:
        """Names that no species of the table has, each once, in their order."""
        return list(dict.fromkeys(n for n in names if not self.found(n)))

    def unclear(self, names: Iterable[str]) -> dict[str, tuple[str, ...]]:
        """Names that two species share, with both."""
        found = {name: self.found(name) for name in names}
        return {name: both for name, both in found.items() if len(both) > 1}

    def corrected(self, names: Iterable[str]) -> dict[str, str]:
        """Names taken for a species although they are old or misspelt, with that species."""
        taken = {}
        for name in dict.fromkeys(names):
            readings = (name, *trade_name(name).readings)
            meant = self.found(name)
            if len(meant) == 1 and not any(self.meant.get(name_key(r)) for r in readings):
                taken[name] = meant[0]
        return taken

    def offered(self, name: str, most: int = 6) -> list[str]:
        """Species that an unknown name may have meant, the likeliest first.

        Those whose common name ends in it go first, then those spelled alike.
        """
        keys = [key for r in trade_name(name).readings if (key := name_key(r))]
        ending = [k for k in self.meant for key in keys if len(key) > 3 and k.endswith(key)]
        near: list[str] = []
        for likeness in () if ending else (0.6, 0.4):
            near = near or [
                k for key in keys for k in difflib.get_close_matches(key, self.meant, 3, likeness)
            ]
        meant: dict[str, str] = {}
        for key in (*ending, *near):
            for species in self.meant[key]:
                as_told = self.spelled.get(key)
                meant.setdefault(species, f"{species} ({as_told})" if as_told else species)
        return list(meant.values())[:most]


class LatinNames:
    """Scientific names by genus and by the part of the epithet that does not bend."""

    def __init__(self, names: Iterable[str]) -> None:
        """Index of the names of two words or more."""
        self.parts = {n: (g.casefold(), _stem(e)) for n in names for g, e in [_two(n)] if e}

    @cached_property
    def by_stem(self) -> dict[tuple[str, str], tuple[str, ...]]:
        """Names by genus and stem of the epithet."""
        table: dict[tuple[str, str], tuple[str, ...]] = {}
        for name, key in self.parts.items():
            table[key] = (*table.get(key, ()), name)
        return table

    def near(self, name: str) -> tuple[str, ...]:
        """Names that differ in the ending, the former genus or a letter or two.

        One if it is sure, several if it could be several, none where nothing is near.
        """
        genus, epithet = _two(name)
        if not epithet:
            return ()
        genus, stem = genus.casefold(), _stem(epithet)
        for genera in ((genus,), _moved(genus)):
            if found := tuple(n for g in genera for n in self.by_stem.get((g, stem), ())):
                return found
        return tuple(
            n
            for n, (g, s) in self.parts.items()
            if (g == genus and _slips(s, stem)) or (s == stem and _slips(g, genus))
        )


def name_key(name: str) -> str:
    """Letters of a name alone, with words that mean the same made one."""
    key = folded(str(name))
    for word, same in SAME_WORDS:
        key = key.replace(word, same)
    return key


def _two(name: str) -> tuple[str, str]:
    """Genus and epithet of a Latin name; an empty epithet where there are not just two words."""
    words = name.split()
    return (words[0], words[1]) if len(words) == 2 else ("", "")


def _stem(epithet: str) -> str:
    """Letters of an epithet without its ending."""
    letters = folded(epithet)
    return LATIN_ENDING.sub("", letters) or letters


def _moved(genus: str) -> tuple[str, ...]:
    """Genera that species of a genus may now stand in, or may have stood in."""
    groups = [[g.casefold() for g in group] for group in SAME_GENUS]
    return tuple(dict.fromkeys(g for group in groups if genus in group for g in group))


def _slips(one: str, other: str) -> bool:
    """Whether two words are one slip apart: a letter more, less, other or moved; two if long."""
    allowed = 1 if max(len(one), len(other)) <= LONG_NAME else 2
    if abs(len(one) - len(other)) > allowed or min(len(one), len(other)) < 4:
        return False
    return _edits(one, other) <= allowed


def _edits(one: str, other: str) -> int:
    """Letters to be put in, left out or changed between two words: Levenshtein's distance."""
    last = list(range(len(other) + 1))
    for row, a in enumerate(one, 1):
        line = [row]
        for column, b in enumerate(other, 1):
            line.append(min(last[column] + 1, line[-1] + 1, last[column - 1] + (a != b)))
        last = line
    return last[-1]


def species_names(species: pd.DataFrame) -> SpeciesNames:
    """Lookup from scientific and common names, synonyms and plant symbols to the first.

    A scientific name always means its own species, even where another lists it as a synonym.
    """
    columns = (species[name] for name in ("species", "common_name", "usda_symbol", "synonyms"))
    return _lookup(*(tuple(column.where(column.notna(), None)) for column in columns))


@lru_cache(maxsize=8)
def _lookup(
    species: tuple[str, ...],
    common_names: tuple[str | None, ...],
    usda_symbols: tuple[str | None, ...],
    synonyms: tuple[str | None, ...],
) -> SpeciesNames:
    """Lookup of a table that many steps ask, made once."""
    by_other_name: dict[str, list[str]] = {}
    spelled: dict[str, str] = {}
    scientific = {name_key(name): name for name in species}
    rows = zip(species, common_names, usda_symbols, synonyms, strict=True)
    for own, common_name, usda_symbol, others in rows:
        for name in (common_name, usda_symbol, *(others or "").split(";")):
            key = name_key(name) if name else ""
            if name and key and key not in scientific:
                spelled.setdefault(key, name.strip())
                if own not in by_other_name.setdefault(key, []):
                    by_other_name[key].append(own)
    known = {key: tuple(names) for key, names in by_other_name.items()}
    known |= {key: (name,) for key, name in scientific.items()}
    return SpeciesNames(known, spelled, LatinNames(species))


def resolved_column(names: pd.Series, species: pd.DataFrame) -> pd.Series:
    """Column of names as the species table spells them; each distinct name is looked up once."""
    lookup = species_names(species)
    return names.map({name: lookup.resolved(name) for name in names.unique()}).astype("object")


def with_variety(table: pd.DataFrame) -> pd.Series:
    """Column ``variety`` of a table; where a row has none, the one told beside its name."""
    told = table["species"].map({n: trade_name(n).variety for n in table["species"].unique()})
    return table["variety"].fillna(told).astype("object")


def species_value(names: pd.Series, species: pd.DataFrame, column: str) -> pd.Series:
    """Column of the species table for resolved names; missing where the species is unknown."""
    return names.map(species.set_index("species")[column])
