"""Areas and tables that cannot be sown as written are refused in one line each."""

import pytest

from pipeline.core.errors import SourceError
from tests.made_seed import BIG, SPECIES, area, factor, line

MIXES = [line(pls_lb_ac=1.0)]
BAG = {"bag": "B", "species": BIG, "purity_pct": 40.0, "total_viable_pct": 80.0}


@pytest.mark.parametrize(
    ("told", "word"),
    [
        ({"mixes": [line(pls_lb_ac=1.0, mix="Other")]}, 'mix "Hill"'),
        ({"seedings": [area(slope="steep")]}, "steep"),
        ({"seedings": [area(), area(unit="U2", method="broadcast")]}, "two"),
        ({"seedings": [area(bag="X")]}, 'bag "X"'),
        ({"seed_bags": [BAG, BAG | {"species": "ANGE"}]}, "second time"),
        ({"seed_bags": [BAG | {"tetrazolium_pct": 80.0}]}, "one way"),
    ],
)
def test_what_cannot_be_sown_is_refused_in_one_line(seed_plan, told, word):
    case = {"units": {"U1": 1.0, "U2": 1.0}, "species": SPECIES, "mixes": MIXES}
    with pytest.raises(SourceError) as refused:
        seed_plan(**case | {"seedings": [area()]} | told)
    assert len(refused.value.faults) == 1
    assert word in str(refused.value)


def test_a_factor_that_the_area_tells_need_not_be_in_the_table(seed_plan):
    entry = area(slope="steep", slope_factor=1.5)
    plan = seed_plan(units={"U1": 1.0}, seedings=[entry], mixes=MIXES)
    assert plan["seed_rates"]["slope_factor"].iloc[0] == 1.5


def test_a_factor_of_another_region_is_refused(seed_plan):
    factors = [factor("Iowa", "season", "July", 1.25), factor("Texas", "season", "August", 1.5)]
    case = {"units": {"U1": 1.0}, "mixes": MIXES, "seed_factors": factors}
    case["place"] = {"state": "Iowa"}
    assert len(seed_plan(seedings=[area(season="July")], **case)["seed_rates"]) == 1
    with pytest.raises(SourceError, match="of the region: July"):
        seed_plan(seedings=[area(season="August")], **case)
