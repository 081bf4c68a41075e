"""Names and words that property files and tables used once are still taken."""

import pytest
from pydantic import ValidationError

from pipeline.catalog import LAYERS
from pipeline.intake.settings import TableSource
from pipeline.intake.tables import read_table
from pipeline.seed.settings import SeedSettings


@pytest.mark.parametrize(
    ("word", "code"),
    [
        ("oldest test", "oldest_test"),
        ("cheapest PLS", "cheapest_pls"),
        ("cheapest_pls", "cheapest_pls"),
    ],
)
def test_order_of_lots_is_a_code_and_its_words_are_taken(word, code):
    assert SeedSettings(lot_order=word).lot_order == code


def test_an_unknown_order_of_lots_is_refused():
    with pytest.raises(ValidationError):
        SeedSettings(lot_order="newest test")


def test_rows_caught_go_by_both_names():
    assert SeedSettings(catch_rows=3) == SeedSettings(drill_rows=3)
    with pytest.raises(ValidationError):
        SeedSettings(catch_rows=3, drill_rows=4)


def test_prices_go_by_their_former_headers(tmp_path):
    header = "lot,species,price_usd,price_usd_per_lb"
    path = tmp_path / "lots.csv"
    path.write_text(f"{header}\nA,big bluestem,12.50,\nB,big bluestem,,4.25\n")
    read = read_table(TableSource(path="lots.csv"), LAYERS["seed_lots"], tmp_path)
    assert not read.faults
    lots = read.frame.set_index("lot")
    assert lots.loc["A", "price_usd_per_pls_lb"] == 12.5
    assert lots.loc["B", "price_usd_per_bulk_lb"] == 4.25
