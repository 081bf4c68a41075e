"""What the season costs: hours, acres, pounds and dollars by task and place."""

import geopandas as gpd
import pandas as pd

from pipeline.core.layer import empty
from pipeline.core.names import natural_key
from pipeline.seed.order import LINE
from pipeline.seed.order_layers import HELD
from pipeline.work.layers import SEASON_COSTS, TASK_KINDS
from pipeline.work.tasks.seed_tasks import NO_PRICE

FIGURES = ("work_hours", "work_ac", "length_ft", "seed_lb", "cost_usd")


PLACE = ["kind", "place"]


def sum_season_costs(
    tasks: gpd.GeoDataFrame, seed_order: pd.DataFrame, seed_use: pd.DataFrame
) -> pd.DataFrame:
    """Table ``season_costs``: the figures of all tasks by kind and place; no row is a total.

    A line of the seed order that serves several areas is parted among them by what each of them
    takes of what is bought; one that is sown already takes none.
    """
    ahead = tasks.loc[tasks["kind"] == "sow", "area"]
    bought = _bought(seed_order, seed_use[seed_use["area"].isin(ahead)])
    rows = pd.concat([_work(tasks), bought], ignore_index=True)
    told = rows[list(FIGURES)].notna().any(axis=1) | rows["without_price"].notna()
    rows = rows[told]
    if rows.empty:
        return empty(SEASON_COSTS)
    places = rows.groupby(PLACE, sort=False)
    sums = places[list(FIGURES)].sum(min_count=1)
    without = places["without_price"].agg(_all_told)
    costs = sums.assign(without_price=without, priced=without.isna()).reset_index()
    order = sorted(
        costs.index,
        key=lambda row: (
            TASK_KINDS.index(costs.at[row, "kind"]),
            natural_key(costs.at[row, "place"]),
            costs.at[row, "place"],
        ),
    )
    costs = costs.loc[order]
    return costs.assign(number=range(1, len(costs) + 1))


def _work(tasks: gpd.GeoDataFrame) -> pd.DataFrame:
    """Figures of the tasks; seed is taken from the lines of its order."""
    done = tasks[tasks["kind"] != "order_seed"]
    place = done["block"].fillna(done["area"]).fillna(done["unit_id"])
    return pd.DataFrame(done[["kind", *FIGURES, "without_price"]].assign(place=place))


def _bought(seed_order: pd.DataFrame, seed_use: pd.DataFrame) -> pd.DataFrame:
    """Pounds and dollars of what is bought, by line of the order and area."""
    lines = seed_order[seed_order["bulk_to_order_lb"].ne(0)]
    taken = seed_use[seed_use["stock"].ne(HELD)]
    parts = taken.groupby([*LINE, "area"], dropna=False)["bulk_lb"].sum(min_count=1)
    parts = parts.reset_index().astype({"lot": object})
    of_line = parts.groupby(LINE, dropna=False)["bulk_lb"]
    even = 1.0 / of_line.transform("size")
    share = (parts["bulk_lb"] / of_line.transform("sum")).where(
        of_line.transform("count") == of_line.transform("size"), even
    )
    bought = parts.assign(share=share.fillna(even)).merge(lines, on=LINE)
    return pd.DataFrame(
        {
            "kind": "order_seed",
            "place": bought["area"],
            "seed_lb": bought["bulk_to_order_lb"] * bought["share"],
            "cost_usd": bought["cost_usd"] * bought["share"],
            "without_price": bought["cost_usd"].isna().map({True: NO_PRICE, False: None}),
        },
    ).reindex(columns=["kind", *FIGURES, "without_price", "place"])


def _all_told(texts: pd.Series) -> str | None:
    """All different texts of a column, None where there is none."""
    return ", ".join(sorted(set(texts.dropna()))) or None
