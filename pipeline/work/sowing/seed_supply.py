"""Sowings held against their seed: rates, lots, tests, weeds on the tags, what is to be bought."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import pandas as pd

from pipeline.core.names import listed
from pipeline.seed.order_layers import HELD, TO_ORDER
from pipeline.work.clashes import Clash

WEEDS_NAMED = "noxious_weed"
"""Code of the seed findings for a lot whose tag names weeds."""


@dataclass(frozen=True, slots=True)
class Supply:
    """The tables of the season's seed."""

    seed_lots: pd.DataFrame
    seed_rates: pd.DataFrame
    lot_quality: pd.DataFrame
    seed_use: pd.DataFrame
    seed_shed: pd.DataFrame
    seed_findings: pd.DataFrame

    def clashes(
        self, area: str, planting: Mapping[str, pd.Timestamp], least_left_pct: float
    ) -> Iterator[Clash]:
        """Everything of the seed that stands against sowing an area."""
        yield from rate_clashes(area, self.seed_rates)
        yield from lack_clashes(area, self.seed_use)
        yield from age_clashes(area, planting[area], self.seed_use, self.lot_quality)
        yield from tag_clashes(
            area, self.seed_use, self.seed_lots, self.lot_quality, self.seed_findings
        )
        yield from shared_clashes(area, planting, self.seed_use, self.seed_shed, least_left_pct)


def rate_clashes(area: str, seed_rates: pd.DataFrame) -> Iterator[Clash]:
    """Species whose rate is not known in pounds."""
    of_area = seed_rates[seed_rates["area"].eq(area)]
    unknown = of_area.loc[of_area["pls_lb_ac"].isna(), "species"]
    if len(unknown):
        yield Clash(code="seed_rate_unknown", names=listed(sorted(unknown), 20))


def lack_clashes(area: str, seed_use: pd.DataFrame) -> Iterator[Clash]:
    """Seed of the mix that no lot covers: of a species without a lot, and beyond what lots have."""
    of_seed = seed_use[seed_use["role"].isin(["seed", "bag"])]
    with_lot = set(of_seed.loc[of_seed["stock"].ne(TO_ORDER), "species"])
    lacking = of_seed[of_seed["area"].eq(area) & of_seed["stock"].eq(TO_ORDER)]
    has_lot = lacking["species"].isin(with_lot)
    for code, rows in (
        ("seed_missing", lacking[~has_lot]),
        ("seed_more_than_offered", lacking[has_lot]),
    ):
        if len(rows):
            names = listed(sorted(rows["species"].unique()), 20)
            yield Clash(code=code, figure=rows["pls_lb"].sum(min_count=1), names=names)


def late_clashes(
    area: str,
    sown: pd.Timestamp,
    seed_use: pd.DataFrame,
    as_of: pd.Timestamp,
    lead_days: int,
) -> Iterator[Clash]:
    """Seed that is still to be bought on a day by which it had to be here."""
    bought = seed_use["area"].eq(area) & seed_use["role"].eq("seed") & seed_use["stock"].ne(HELD)
    if not bought.any() or pd.isna(sown) or pd.isna(as_of):
        return
    need_by = sown - pd.Timedelta(days=lead_days)
    if need_by < as_of:
        late = float((as_of - need_by).days)
        yield Clash(code="seed_late", figure=late, day=need_by, bound_day=as_of)


def age_clashes(
    area: str, sown: pd.Timestamp, seed_use: pd.DataFrame, lot_quality: pd.DataFrame
) -> Iterator[Clash]:
    """Lots whose test is out on the day of sowing by the state's rule, in use or left out."""
    use = seed_use[seed_use["area"].eq(area)]
    there = lot_quality["on_offer"] | lot_quality["on_hand_bulk_lb"].gt(0)
    out = lot_quality[
        lot_quality["species"].isin(use["species"]) & there & lot_quality["last_good"].lt(sown)
    ]
    used = out["lot"].isin(use["lot"])
    for code, lots in (("seed_test_out", out[used]), ("seed_test_out_left", out[~used])):
        if len(lots):
            yield Clash(
                code=code,
                day=lots["last_good"].min(),
                bound_day=sown,
                names=listed(sorted(lots["lot"]), 20),
            )


def tag_clashes(
    area: str,
    seed_use: pd.DataFrame,
    seed_lots: pd.DataFrame,
    lot_quality: pd.DataFrame,
    seed_findings: pd.DataFrame,
) -> Iterator[Clash]:
    """Weeds that tags of the area's lots name or do not speak of, and harvests without a test."""
    use = seed_use[seed_use["area"].eq(area) & seed_use["lot"].notna()]
    lots = set(use.loc[use["role"].ne("carrier"), "lot"])
    named = lots & set(seed_findings.loc[seed_findings["code"].eq(WEEDS_NAMED), "subject"])
    if named:
        told = seed_lots[seed_lots["lot"].isin(named)].sort_values("lot")
        words = [f"{row.lot}: {row.noxious}" for row in told.itertuples(index=False)]
        yield Clash(code="seed_noxious_named", figure=float(len(words)), names=listed(words, 20))
    blank = seed_lots.loc[seed_lots["lot"].isin(lots) & seed_lots["noxious"].isna(), "lot"]
    if len(blank):
        names = listed(sorted(blank), 20)
        yield Clash(code="seed_noxious_blank", figure=float(len(blank)), names=names)
    own = set(lot_quality.loc[lot_quality["viable_from"].eq("own_count"), "lot"])
    harvested = use[use["lot"].isin(own)]
    if len(harvested):
        names = listed(sorted(harvested["lot"].unique()), 20)
        yield Clash(code="seed_own_untested", figure=harvested["pls_lb"].sum(), names=names)


def shared_clashes(
    area: str,
    planting: Mapping[str, pd.Timestamp],
    seed_use: pd.DataFrame,
    seed_shed: pd.DataFrame,
    bound_pct: float,
) -> Iterator[Clash]:
    """Lots of the shed that several areas empty; told of the one that is sown last."""
    held = seed_use[seed_use["stock"].eq(HELD)]
    shed = seed_shed.set_index("lot")
    for lot in sorted(held.loc[held["area"].eq(area), "lot"].unique()):
        areas = sorted(
            set(held.loc[held["lot"].eq(lot), "area"]) & set(planting),
            key=lambda name: (planting[name] if pd.notna(planting[name]) else LAST, name),
        )
        left_pct = 100.0 * shed.loc[lot, "left_bulk_lb"] / shed.loc[lot, "on_hand_bulk_lb"]
        if len(areas) > 1 and areas[-1] == area and left_pct < bound_pct:
            names = f"{lot} goes on {listed(areas[:-1])} first"
            yield Clash(code="seed_lot_shared", figure=left_pct, bound=bound_pct, names=names)


LAST = pd.Timestamp("2262-01-01")
"""A day after all others, for an area without one."""
