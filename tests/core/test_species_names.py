"""Names as the seed trade writes them, against lists that were read outside this project."""

import csv
from collections import Counter
from pathlib import Path

import pandas as pd
import pytest

from pipeline.core.species_names import species_names, with_variety
from pipeline.core.trade_names import trade_name

ROOT = Path(__file__).parents[2]
DATA, CONFIG = ROOT / "tests" / "data" / "seed", ROOT / "config"


def rows(path):
    """Rows of a table as texts."""
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def names_of(file):
    """Lookup of a shipped table."""
    table = pd.read_csv(CONFIG / file, dtype=object)
    return species_names(table.where(table.notna(), None))


SEED, PLANTS = names_of("species.csv"), names_of("plants.csv")


@pytest.mark.parametrize("row", rows(DATA / "trade_names.csv"), ids=lambda row: row["name"])
def test_a_name_of_the_trade_is_taken_for_its_species_or_left_open(row):
    # The column seen_in says where each spelling was read.
    assert SEED.found(row["name"]) == ((row["species"],) if row["species"] else ())


def test_two_hundred_names_of_the_trade_are_resolved_or_offered():
    names = [row["name"] for row in rows(DATA / "trade_names.csv")]
    assert len(names) >= 200
    assert [name for name in names if not (SEED.found(name) or SEED.offered(name))] == []


def test_species_of_open_mix_lists_are_covered():
    # Species with a rate or a seed count in a university's research mixes (132 names, spelled as
    # they stand there), two state agencies' lists, a trade sheet and a restoration of 2021.
    lists = rows(DATA / "mix_lists.csv")
    known = Counter(row["list"] for row in lists if len(SEED.found(row["name"])) == 1)
    for name, many in Counter(row["list"] for row in lists).items():
        assert known[name] >= 0.9 * many, name


def test_no_plant_is_taken_for_another():
    # Scientific names of the plant table that the seed table lacks: a slip of one or two letters
    # must not turn one plant into another.
    seed = {row["species"] for row in rows(CONFIG / "species.csv")}
    others = [r["species"] for r in rows(CONFIG / "plants.csv") if r["species"] not in seed]
    assert len(others) > 50
    assert {name: SEED.found(name) for name in others if SEED.found(name)} == {}


def test_seed_and_plants_share_one_list_of_names():
    tables = [rows(CONFIG / file) for file in ("species.csv", "plants.csv")]
    shared = set.intersection(*({row["species"] for row in table} for table in tables))
    assert len(shared) > 80
    for table in tables:
        for row in table:
            if row["species"] in shared:
                for name in (row["species"], row["common_name"], *row["synonyms"].split("; ")):
                    same = (SEED.resolved(name), PLANTS.resolved(name)) if name else ()
                    assert set(same) <= {row["species"]}, name


@pytest.mark.parametrize(
    ("text", "variety", "done", "rank"),
    [
        ("Grama, Sideoats - 'Haskell'", "Haskell", None, None),  # NRCS TX-PM-12-02
        ("Indiangrass, Yellow - 'Lometa", "Lometa", None, None),  # the quote is never closed there
        ("Bluestem, Big (Grain)", None, "Grain", None),
        ("Switchgrass \u201cCave-In-Rock\u201d", "Cave-In-Rock", None, None),
        ("Big bluestem VNS", "VNS", None, None),
        ("Little bluestem, hulled", None, "hulled", None),
        ("Pseudoroegneria spicata ssp. inermis", None, None, "ssp. inermis"),
        ("Leiberg's panicum", None, None, None),
        ("common milkweed", None, None, None),
    ],
)
def test_what_stands_beside_a_name_is_kept(text, variety, done, rank):
    name = trade_name(text)
    assert (name.variety, name.done, name.rank) == (variety, done, rank)


def test_a_variety_beside_the_name_stands_where_none_is_told():
    lots = pd.DataFrame(
        {
            "species": ["Switchgrass 'Blackwell'", "Switchgrass 'Blackwell'", "switchgrass"],
            "variety": [None, "Kanlow", None],
        },
        dtype=object,
    )
    assert with_variety(lots).tolist()[:2] == ["Blackwell", "Kanlow"]
    assert pd.isna(with_variety(lots)[2])


@pytest.mark.parametrize(
    "name",
    [
        "Liatris spp.",
        "Carex sp.",
        "Rosa \u00d7 alba",
        "Rosa x alba",
        "Liatris aspera x Liatris spicata",
    ],
)
def test_a_genus_or_a_hybrid_is_no_species(name):
    assert SEED.found(name) == ()


def test_what_was_set_right_is_told_apart_from_what_is_known():
    told = SEED.corrected(["big bluestem", "Andropogon gerardi", "Lupinis perennis"])
    assert told == {
        "Andropogon gerardi": "Andropogon gerardii",
        "Lupinis perennis": "Lupinus perennis",
    }


def test_an_unclear_common_name_offers_its_kinds():
    offered = " ".join(SEED.offered("blazing star"))
    assert "Liatris punctata" in offered
    assert "Liatris pycnostachya" in offered
