"""Burns that the log knows of and a comparison overlooked.

A unit burned in the year before still answers that fire, so it is no unburned ground: ordinary
practice of before-after-control-impact designs, common practice, no source.
"""

import pandas as pd
import pytest

from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.greenness.burn_doubts import burn_words, burned_references, loss_is_explained
from tests.made_scenes import treated

ROWS = pd.DataFrame({
    "unit_id": ["U0", "U1", "U2"], "role": ["burned", "reference", "reference"],
    "before": pd.Timestamp("2025-07-20"), "after": pd.Timestamp("2026-07-22"),
})  # fmt: skip


@pytest.mark.parametrize(
    ("day", "counts"),
    [("2024-07-19", False), ("2024-07-21", True), ("2025-04-10", True), ("2026-04-14", True),
     ("2026-07-22", True), ("2026-07-23", False)],
)  # fmt: skip
def test_reference_that_burned_from_a_year_before_until_the_second_picture(day, counts):
    told = burned_references(ROWS, treated(("U1", day, "burn")))
    assert told[1] == (f"burned on {day}: it is no unburned ground" if counts else None)
    assert told[[0, 2]].isna().all()


def test_burned_units_and_other_work_are_not_meant():
    log = treated(("U0", "2026-04-14", "burn"), ("U1", "2026-04-14", "graze"))
    assert burned_references(ROWS, log).isna().all()


def test_burns_of_the_unit_itself():
    between = ("U0", "2026-04-14", "burn")
    assert burn_words(ROWS.loc[0], treated(between)) == []
    assert burn_words(ROWS.loc[0], treated(between, ("U0", "2025-04-02", "burn"))) == [
        "it had burned on 2025-04-02, within a year before the first picture"
    ]
    none = "no burn of it is on record from after the first picture to before the second"
    for day in ("2019-04-02", "2026-07-22", "2026-08-01"):
        assert burn_words(ROWS.loc[0], treated(("U0", day, "burn"))) == [none], day
    assert burn_words(ROWS.loc[0], treated(("U0", "2025-07-20", "burn")))[0] == none
    assert burn_words(ROWS.loc[1], treated(("U0", "2026-04-14", "burn"))) == []
    assert burn_words(ROWS.loc[0], empty(LAYERS["treatment_log"])) == [], "nobody keeps a log"
    assert loss_is_explained(ROWS.loc[0], treated(("U0", "2026-07-10", "mow")))
    assert not loss_is_explained(ROWS.loc[0], treated(("U1", "2026-07-10", "mow")))
