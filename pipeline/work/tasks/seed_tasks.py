"""Tasks of seedings: lots to be tested again, seed to be ordered, areas to be sown."""

from collections.abc import Iterator
from dataclasses import dataclass

import geopandas as gpd
import pandas as pd
import shapely

from pipeline.core.names import listed, natural_key
from pipeline.ground.overlays import united
from pipeline.seed.order import LINE
from pipeline.seed.order_layers import HELD
from pipeline.work.layers import SEED_TASKS
from pipeline.work.settings import TaskSettings
from pipeline.work.tasks.task_rows import (
    Day,
    TaskRow,
    Work,
    days_before,
    earliest,
    key_part,
    known,
    known_day,
    task_frame,
    works_of,
)

Drawn = tuple[TaskRow, shapely.Geometry | None]


METHOD_PRICES = {
    "drill": "drill_usd_ac",
    "broadcast": "broadcast_usd_ac",
    "overseed": "broadcast_usd_ac",
}


NO_PRICE = "price_usd_per_pls_lb"
"""Column of the lots that is empty where the order has a line without a price."""


@dataclass(frozen=True, slots=True)
class LotTest:
    """A test of a lot, with the species of the lot."""

    row: TaskRow
    ground: shapely.Geometry
    species: str


@dataclass(frozen=True, slots=True)
class Order:
    """Lines of the order that are bought on one day from one vendor."""

    task_id: str
    lines: pd.DataFrame
    vendor: str | None
    due: Day


def list_seed_tasks(
    planned_work: gpd.GeoDataFrame,
    seed_areas: gpd.GeoDataFrame,
    seed_rates: pd.DataFrame,
    seed_use: pd.DataFrame,
    seed_order: pd.DataFrame,
    lot_quality: pd.DataFrame,
    settings: TaskSettings,
) -> gpd.GeoDataFrame:
    """Layer ``seed_tasks``: what the seedings of the plan ask for, and the sowing."""
    works = works_of(planned_work, "seed")
    grounds = dict(zip(seed_areas["area"], seed_areas.geometry, strict=True))
    orders = _orders(ordered_for(works, seed_order, seed_use), settings)
    tests = list(_tests(works, grounds, seed_rates, lot_quality, orders, settings))
    rows = [
        *((test.row, test.ground) for test in tests),
        *_order_tasks(works, grounds, seed_use, orders, tests),
        *(_sowing(work, seed_areas, grounds) for work in works),
    ]
    return task_frame(rows, SEED_TASKS, planned_work.crs)


def ordered_for(
    works: list[Work], seed_order: pd.DataFrame, seed_use: pd.DataFrame
) -> pd.DataFrame:
    """Lines of the order that some area takes of which is yet to be sown, each as a whole."""
    ahead = seed_use["area"].isin({work.area for work in works})
    lines = seed_use.loc[ahead & seed_use["stock"].ne(HELD), LINE].drop_duplicates()
    return seed_order.merge(lines, on=LINE)


def _orders(seed_order: pd.DataFrame, settings: TaskSettings) -> list[Order]:
    """What is bought, by the day that it is needed by and by vendor."""
    bought = seed_order[seed_order["bulk_to_order_lb"].ne(0)]
    orders = []
    for (need_by, vendor), lines in bought.groupby(["need_by", "vendor"], dropna=False):
        day = known_day(need_by)
        name = None if pd.isna(vendor) else vendor
        parts = ["no-day" if day is None else f"{day:%Y-%m-%d}"]
        parts += [] if name is None else [key_part(name)]
        due = days_before(day, settings.delivery_days)
        orders.append(Order(":".join(["order_seed", *parts]), lines, name, due))
    return orders


def _tests(
    works: list[Work],
    grounds: dict[str, shapely.Geometry],
    seed_rates: pd.DataFrame,
    lot_quality: pd.DataFrame,
    orders: list[Order],
    settings: TaskSettings,
) -> Iterator[LotTest]:
    """Lots in the shed whose test is out on the day an area takes their species.

    A lot tested again may save an order of its species, so the test is due before that.
    """
    of_area = {work.area: work for work in works if work.area is not None}
    held = lot_quality[lot_quality["on_hand_bulk_lb"].gt(0) & lot_quality["last_good"].notna()]
    for lot in sorted(held.to_dict("records"), key=lambda row: natural_key(row["lot"])):
        areas = seed_rates.loc[seed_rates["species"] == lot["species"], "area"]
        late = [
            (work.first, work)
            for area, work in of_area.items()
            if area in set(areas) and work.first is not None and work.first > lot["last_good"]
        ]
        if not late:
            continue
        planting, first = min(late, key=lambda pair: pair[0])
        before = [
            planting,
            *(o.due for o in orders if lot["species"] in set(o.lines["species"])),
        ]
        yield LotTest(
            TaskRow(
                f"test_lot:{key_part(lot['lot'])}",
                "test_lot",
                "specialist",
                f"test good through {lot['last_good'].date()}, planting {planting.date()}; "
                "seed_test_days before its order or its sowing",
                tuple(work.key for _, work in late),
                area=first.area,
                due=days_before(earliest(before), settings.seed_test_days),
                amount=1.0,
                amount_unit="lots",
                price="seed_test_usd_lot",
                price_times=1.0,
                names=f"{lot['lot']}, {lot['species']}",
            ),
            united([grounds[work.area] for _, work in late if work.area is not None]),
            lot["species"],
        )


def _order_tasks(
    works: list[Work],
    grounds: dict[str, shapely.Geometry],
    seed_use: pd.DataFrame,
    orders: list[Order],
    tests: list[LotTest],
) -> Iterator[Drawn]:
    """Orders of seed, each with the areas that it is for and the tests that may change it."""
    of_area = {work.area: work for work in works if work.area is not None}
    bought = seed_use[seed_use["stock"].ne(HELD)]
    for order in orders:
        lines = order.lines
        takers = set(lines[LINE].merge(bought, on=LINE)["area"])
        areas = sorted(takers & set(of_area), key=natural_key)
        cost = lines["cost_usd"]
        pounds = known(lines["bulk_to_order_lb"].sum(skipna=False))
        species = {str(name) for name in lines["common_name"].fillna(lines["species"])}
        names = sorted(species, key=str.casefold)
        yield (
            TaskRow(
                order.task_id,
                "order_seed",
                "seed_dealer",
                "planting less order_lead_days ([seed]) and delivery_days",
                tuple(of_area[area].key for area in areas),
                area=areas[0] if len(areas) == 1 else None,
                due=order.due,
                amount=pounds,
                amount_unit=None if pounds is None else "lb",
                seed_lb=pounds,
                bought_usd=known(cost.sum(min_count=1)),
                price=NO_PRICE if cost.isna().any() else None,
                names=(f"{order.vendor}: " if order.vendor else "") + listed(names),
                waits_for=tuple(
                    test.row.task_id for test in tests if test.species in set(lines["species"])
                ),
            ),
            united([grounds[area] for area in areas]),
        )


def _sowing(
    work: Work, seed_areas: gpd.GeoDataFrame, grounds: dict[str, shapely.Geometry]
) -> Drawn:
    """The sowing of an area, or of a unit as the log plans it."""
    net = seed_areas.set_index("area")["net_ac"]
    acres = work.work_ac if work.area is None else known(net.get(work.area))
    told = [text for text in (work.mix, work.method) if text is not None]
    row = TaskRow(
        f"sow:{work.key}",
        "sow",
        "crew",
        "planting day of the plan" if work.area else "log, a row of days to come",
        (work.key,),
        unit_id=work.unit_id,
        area=work.area,
        first_day=work.first,
        due=work.last,
        amount=acres,
        amount_unit=None if acres is None else "ac",
        work_ac=acres,
        price=METHOD_PRICES.get(work.method or "", "method"),
        price_times=acres,
        names=", ".join(told) or None,
    )
    return row, grounds.get(work.area, work.ground) if work.area else work.ground
