"""The table of settings tells which values the user chose, and the unit and source of each."""

from pipeline.catalog import PropertyFile
from pipeline.write.record import settings_rows

TOLD = {
    "property": {"name": "Place", "season": 2027},
    "sources": {"units": {"path": "units.shp"}},
    "mowing": {"mow_width_ft": 24.0, "side": "outside"},
}


def test_chosen_settings_are_told_from_defaults():
    rows = settings_rows(PropertyFile.model_validate(TOLD)).set_index(["section", "setting"])
    chosen = rows[rows["origin"] == "property_file"]
    assert sorted(chosen.index) == [("mowing", "mow_width_ft"), ("mowing", "side")]
    assert chosen.loc[("mowing", "mow_width_ft"), "value"] == "24.0"
    assert chosen.loc[("mowing", "mow_width_ft"), "unit"] == "foot"
    assert rows["reference"].str.len().gt(0).all()
