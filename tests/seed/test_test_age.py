"""How long a seed test counts, by the laws of the states as they are cited in the shipped table."""

import csv
from datetime import date
from pathlib import Path

import pandas as pd
import pytest

from pipeline.seed.settings import SeedSettings
from pipeline.seed.test_age import age_rule, last_good_day, last_good_days, months_of_lots
from tests.literal_layers import literal_layer
from tests.made_seed import SPECIES

CONFIG = Path(__file__).parents[2] / "config"


def shipped():
    """The shipped table of rules as its layer."""
    rows = list(
        csv.DictReader((CONFIG / "test_rules.csv").read_text(encoding="utf-8").splitlines())
    )
    read = [
        {
            name: (text == "yes" if name == "test_month_counts" else text)
            for name, text in row.items()
            if text
        }
        for row in rows
    ]
    for row in read:
        row.update({name: int(row[name]) for name in row if name.endswith("months")})
    return literal_layer("test_rules", read)


@pytest.mark.parametrize(
    ("state", "last"),
    [
        ("Iowa", "2025-12-31"),  # Iowa Code 199.8: 9 months, not counting the month of the test
        ("IA", "2025-12-31"),
        ("iowa", "2025-12-31"),
        ("Texas", "2025-12-31"),  # 4 TAC 9.7(b)
        ("MO", "2025-12-31"),  # every 10 months, counting the month tested
        ("Michigan", "2026-02-28"),  # MCL 286.709(1): 11
        ("Illinois", "2026-03-31"),  # 505 ILCS 110/5: 12
        ("Wisconsin", "2026-02-28"),  # 94.41(1)(a): 12 before the end of the month of sale
        ("CO", "2026-03-31"),  # 35-27-113(1)(a): within the previous 13 months, day unknown
        ("Minnesota", "2026-06-30"),  # 21.86: native grass and forb seed 15
        ("interstate", "2025-08-31"),  # 7 CFR 201.30a: 5
    ],
)
def test_a_test_of_march_2025_counts_as_the_law_of_the_state_says(state, last):
    rule = age_rule(shipped(), state, SeedSettings())
    months = rule.months_of(native=True, sealed=False)
    assert last_good_day(date(2025, 3, 1), months).isoformat() == last


def test_other_kinds_and_sealed_packs_have_their_own_months():
    # Minnesota Statutes 21.86: 12 months, native grasses and forbs 15, hermetic packs 36.
    rule = age_rule(shipped(), "Minnesota", SeedSettings())
    lots = literal_layer(
        "seed_lots",
        [
            {"lot": "1", "species": "big bluestem"},
            {"lot": "2", "species": "oats"},
            {"lot": "3", "species": "big bluestem", "sealed": True},
        ],
    )
    assert months_of_lots(lots, literal_layer("species", SPECIES), rule).tolist() == [15, 12, 36]


@pytest.mark.parametrize("state", ["SD", "North Dakota", "Oklahoma", "Ohio", "Wyoming"])
def test_a_rule_that_was_not_read_gives_no_months_but_says_so(state):
    rule = age_rule(shipped(), state, SeedSettings())
    assert rule.months is None
    assert rule.reference
    lots = literal_layer("seed_lots", [{"lot": "1", "species": "oats", "tested": "2025-03-01"}])
    months = months_of_lots(lots, literal_layer("species", SPECIES), rule)
    assert pd.isna(last_good_days(lots["tested"], months)).all()


def test_the_settings_go_before_the_law():
    rule = age_rule(shipped(), "Minnesota", SeedSettings(test_months=8))
    assert rule.months_of(native=True, sealed=True) == 8
