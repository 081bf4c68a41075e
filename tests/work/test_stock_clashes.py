"""Stock: each made situation raises its clash, near ones do not; all through the real steps."""

import pandas as pd
import pytest

from pipeline.work.codes import STOCK_CODES
from tests.work.made_stock import made_season
from tests.work.stock_situations import STOCK

SILENT = [(s, near) for s in STOCK for near in s.silent]


def clashes_of(situation, told, layer="stock_clashes"):
    """Clashes of the situation's code, work and unit."""
    rows = made_season(layer, **told)[layer]
    work_id, unit_id = situation.of
    of_unit = rows["unit_id"].isna() if unit_id is None else rows["unit_id"] == unit_id
    return rows[(rows["code"] == situation.code) & (rows["work_id"] == work_id) & of_unit]


@pytest.mark.parametrize("situation", STOCK, ids=lambda s: s.code)
def test_situation_raises_its_clash(situation):
    rows = clashes_of(situation, situation.raises)
    assert len(rows) == 1
    if situation.figure is not None:
        assert rows["figure"].iloc[0] == pytest.approx(situation.figure, rel=1e-3)


@pytest.mark.parametrize(("situation", "near"), SILENT, ids=lambda v: getattr(v, "code", ""))
def test_near_situation_stays_silent(situation, near):
    rows = made_season("stock_clashes", **near)["stock_clashes"]
    assert situation.code not in set(rows["code"])


def test_every_code_has_a_situation():
    assert {situation.code for situation in STOCK} == set(STOCK_CODES)


def test_season_without_stock_has_no_clash():
    assert made_season("stock_clashes")["stock_clashes"].empty


def test_clash_becomes_a_conflict_with_its_figures_in_words():
    told = next(s for s in STOCK if s.code == "stock_above_forage").raises
    conflicts = made_season("conflicts", **told)["conflicts"].set_index("code")
    row = conflicts.loc["stock_above_forage"]
    assert row["against"].endswith("takes 50.0 AUM, and the ground it is on carries 40.0")
    assert pd.isna(row["block"])
    assert row["kind"] == "graze"
