"""Rows of seed tables as literals, with what most tests leave as it is."""

BIG, LITTLE = "Andropogon gerardii", "Schizachyrium scoparium"
SPECIES = [
    {
        "species": BIG,
        "common_name": "big bluestem",
        "usda_symbol": "ANGE",
        "seeds_per_lb": 144240.0,
        "seed_group": "warm-season grass",
        "box": "chaffy",
    },
    {
        "species": LITTLE,
        "common_name": "little bluestem",
        "synonyms": "Andropogon scoparius",
        "seeds_per_lb": 255000.0,
        "seed_group": "warm-season grass",
        "box": "chaffy",
    },
]


def area(name="North", unit="U1", mix="Hill", method="drill", **told):
    """A seeding area of one unit."""
    return {"area": name, "unit_id": unit, "mix": mix, "method": method} | told


def line(species=BIG, mix="Hill", **told):
    """A line of a mix."""
    return {"mix": mix, "species": species} | told


def lot(name, species=BIG, pls=80.0, **told):
    """A lot whose pure seed is all alive, so that its purity is its PLS."""
    return {"lot": name, "species": species, "purity_pct": pls, "total_viable_pct": 100.0} | told


def full_rate(species, pls_lb_ac, **told):
    """A full rate of the set F, for any method."""
    row = {"full_rate": "F", "species": species, "pls_lb_ac": pls_lb_ac, "rate_method": "any"}
    return row | {"region": "Colorado", "purpose": "critical area"} | told


def factor(region, kind, name, times):
    """A factor of a region."""
    return {"region": region, "kind": kind, "name": name, "factor": times}
