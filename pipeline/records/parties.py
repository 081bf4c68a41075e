"""What was done and is planned, for those who may ask: owners of the land, offices of contracts."""

import pandas as pd

from pipeline.core.layer import empty
from pipeline.records.layers import CONTRACT_RECORDS, WORK_RECORDS

UNDER_CONTRACT = ("contract", "easement")


def list_work_records(
    record_book: pd.DataFrame,
    planned_work: pd.DataFrame,
    planned_log: pd.DataFrame,
    drawn_units: pd.DataFrame,
) -> pd.DataFrame:
    """Table ``work_records``: records that have a day, then the plan, the newest year first."""
    owners = drawn_units.set_index("unit_id")["owner"]
    done = pd.DataFrame(record_book[record_book["start"].notna()]).assign(standing="done")
    days = {"first_day": "start", "last_day": "end", "work_ac": "record_ac"}
    plan = pd.DataFrame(planned_work).rename(columns=days)
    practices = planned_log.dropna(subset="practice").set_index(["unit_id", "kind"])["practice"]
    practice = practices[~practices.index.duplicated()].reindex([plan["unit_id"], plan["kind"]])
    plan = plan.assign(
        standing="planned",
        year=plan["start"].fillna(plan["end"]).dt.year.astype("Int64"),
        owner=plan["unit_id"].map(owners),
        practice=practice.to_numpy(),
    )
    parts = [part for part in (done, plan) if len(part)]
    if not parts:
        return empty(WORK_RECORDS)
    told = [part.reindex(columns=WORK_RECORDS.column_names) for part in parts]
    rows = pd.concat(told, ignore_index=True)
    newest = rows.assign(before=-rows["year"].astype(float))
    order = newest.sort_values(["standing", "before", "start", "unit_id", "kind"], kind="stable")
    return order.drop(columns="before").assign(number=range(1, len(rows) + 1))


def list_contract_records(
    work_records: pd.DataFrame, unit_limits: pd.DataFrame, units: pd.DataFrame
) -> pd.DataFrame:
    """Table ``contract_records``: work on units under a contract, once for each of its contracts.

    A limit that names a contract or is of one counts.
    """
    named = unit_limits["contract"].notna() | unit_limits["kind"].isin(UNDER_CONTRACT)
    limits = unit_limits[named].drop_duplicates(["unit_id", "contract"])
    limits = limits[["unit_id", "contract", "approval", "note"]].rename(
        columns={"note": "limit_note"}
    )
    if limits.empty:
        return empty(CONTRACT_RECORDS)
    rows = limits.merge(work_records.drop(columns="number"), on="unit_id")
    rows["unit_ac"] = rows["unit_id"].map(units.set_index("unit_id")["gross_ac"])
    newest = rows.assign(before=-rows["year"].astype(float))
    keys = ["contract", "standing", "before", "start", "unit_id", "kind"]
    order = newest.sort_values(keys, kind="stable")[
        [name for name in CONTRACT_RECORDS.column_names if name != "number"]
    ]
    return order.assign(number=range(1, len(rows) + 1))


def list_owner_units(drawn_units: pd.DataFrame, units: pd.DataFrame) -> pd.DataFrame:
    """Table ``owner_units``: units that name an owner, with their acres."""
    owned = drawn_units.loc[drawn_units["owner"].notna(), ["owner", "unit_id", "name"]]
    gross = units.set_index("unit_id")["gross_ac"]
    return pd.DataFrame(owned).assign(gross_ac=owned["unit_id"].map(gross))
