"""What is open about bought lots: shipped over a state line, or silent on noxious weeds."""

from collections.abc import Iterator

import pandas as pd

from pipeline.core.findings import Finding
from pipeline.core.names import listed
from pipeline.core.places import place_key, state_in, state_name
from pipeline.seed.test_age import last_good_days, months_of_lots, written_rule

INTERSTATE = "interstate"
"""The row of ``test_rules`` for seed that is shipped from one state to another."""


def find_shipments(
    lot_quality: pd.DataFrame,
    seed_order: pd.DataFrame,
    species: pd.DataFrame,
    state: str | None,
    test_rules: pd.DataFrame,
) -> Iterator[Finding]:
    """Lots to be bought whose test is out for shipping before the seed has to be here.

    The clock stops on the day of shipment, and a dealer may ship early: such a lot is told with
    its last day, not left out.

    *Source*: 7 CFR 201.22 and 201.30a: at most 5 calendar months from the end of the month of the
    test to the transportation in interstate commerce, 24 in sealed containers.
    *Assumes* that seed is shipped from the state in which it was grown.
    """
    bought = seed_order[seed_order["bulk_to_order_lb"].gt(0) & seed_order["lot"].notna()]
    need_by = bought.groupby("lot")["need_by"].min()
    lots = lot_quality[lot_quality["lot"].isin(need_by.index)]
    rule = written_rule(test_rules, INTERSTATE)
    last = last_good_days(lots["tested"], months_of_lots(lots, species, rule))
    for row, day in zip(lots.itertuples(index=False), last, strict=True):
        origin = None if pd.isna(row.origin) else state_in(row.origin)
        here_by = need_by[row.lot]
        at_home = origin and state and place_key(origin) == place_key(state)
        if at_home or not day < here_by:
            continue
        crosses = (
            f"grown in {origin}, sown in {state_name(state)}: between states"
            if origin and state
            else "if it comes from another state,"
        )
        yield Finding(
            severity="warning" if origin and state else "note",
            source="seed_lots",
            subject=row.lot,
            code="ship_by",
            message=f"{crosses} it may be shipped on this test through {day.date()} only "
            f"(tested {row.tested.date()}; 7 CFR 201.22), but is needed by {here_by.date()}. Have "
            "it shipped by then, or tested again",
        )


def find_silent_tags(seed_lots: pd.DataFrame, seed_use: pd.DataFrame) -> Iterator[Finding]:
    """Lots in use whose cell of noxious weeds is empty, in one finding.

    *Source*: 7 CFR 201.36: "free" and "none" mean that none was found in a test; an empty cell
    says nothing.
    """
    used = seed_use.loc[seed_use["role"].ne("carrier"), "lot"]
    silent = seed_lots.loc[seed_lots["lot"].isin(used) & seed_lots["noxious"].isna(), "lot"]
    if len(silent):
        yield Finding(
            severity="note",
            source="seed_lots",
            subject="noxious weeds",
            code="noxious_blank",
            message=f"the cell noxious is empty for {listed(silent)}: what these lots hold is "
            'unknown. Write what the tag says, "free" too, or ask for the report of the test',
        )
