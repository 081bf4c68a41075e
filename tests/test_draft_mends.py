"""Maps of units that want mending: the line that the draft offers is all that they need."""

import tomllib

import geopandas as gpd
import pyogrio
import pytest

from pipeline.cli import main
from tests.made_maps import KML, UTM, ring, save, square, write_shapefile

FORTY_AC = 40.0
"""A square of 402.336 m is a quarter of a quarter section: 40 acres by its definition."""


def shapes_with(shapes, **columns):
    """A map of some shapes."""
    return gpd.GeoDataFrame(columns, geometry=shapes, crs=UTM)


SQUARES = [square(0), square(1), square(2)]
SPECKS = [square(5, side=3.0), square(6, side=5.0)]
NAMES = ["Bluff", "Bluff", "Creek", None]

TROUBLES = {
    "no name": (
        shapes_with(SQUARES, clay=[20.5, 21.5, 20.5]),
        {"names": "row"},
        ["1", "2", "3"],
    ),
    "specks": (
        shapes_with([*SQUARES, *SPECKS], UNIT=list("ABCDE")),
        {"specks": "drop"},
        ["A", "B", "C"],
    ),
    "repeated and blank names": (
        shapes_with([*SQUARES, square(3)], PASTURE=NAMES, clay=[1.5, 2.5, 1.5, 1.5]),
        {"names": "numbered"},
        ["Bluff 1", "Bluff 2", "Creek", "row 4"],
    ),
    "one blank name": (
        shapes_with(SQUARES, PASTURE=["Bluff", None, "Creek"]),
        {"names": "numbered"},
        ["Bluff", "Creek", "row 2"],
    ),
    "a double": (
        shapes_with([*SQUARES, square(2)], UNIT=list("ABCD")),
        {"duplicates": "keep_first"},
        ["A", "B", "C"],
    ),
    "specks without names": (
        shapes_with([*SQUARES, *SPECKS], clay=[20.5, 21.5, 20.5, 1.5, 2.5]),
        {"names": "row", "specks": "drop"},
        ["1", "2", "3"],
    ),
}


def saved_draft(folder):
    """The draft of a folder, as start saves it."""
    assert main(["start", str(folder), "--save", "--quiet"]) == 0
    return folder / "property.toml"


def taken_up(text):
    """The draft with the # taken away from the lines of [mend] below the units, and those lines."""
    before, mark, rest = text.partition("# [mend]\n")
    offered, blank, after = rest.partition("\n\n")
    lines = f"{mark}{offered}".replace("# ", "")
    return f"{before}{lines}{blank}{after}", tomllib.loads(lines).get("mend")


def acres_of_run(draft, folder):
    """Acres of each unit that a run of a draft writes."""
    assert main(["run", str(draft), "--out", str(folder / "out"), "--quiet"]) == 0
    package = next(p for p in (folder / "out").rglob("*.gpkg") if p.stem != "field_plan")
    units = pyogrio.read_dataframe(package, layer="units", read_geometry=False)
    return dict(zip(units["unit_id"], units["gross_ac"], strict=True))


@pytest.mark.parametrize("trouble", TROUBLES)
def test_the_line_below_the_units_is_all_that_a_map_needs(trouble, tmp_path, capsys):
    frame, mend, names = TROUBLES[trouble]
    save(frame, tmp_path / "pastures.gpkg")
    draft = saved_draft(tmp_path)
    text = draft.read_text(encoding="utf-8")
    assert "mend" not in tomllib.loads(text)
    assert main(["check", str(draft), "--quiet"]) == 2
    said = capsys.readouterr().err
    mended, offered = taken_up(text)
    assert offered == mend
    assert all(f'{key} = "{value}"' in text for key, value in mend.items())
    assert any(f'{key} = "{value}"' in said for key, value in mend.items())
    draft.write_text(mended, encoding="utf-8")
    acres = acres_of_run(draft, tmp_path)
    assert sorted(acres) == names
    assert list(acres.values()) == pytest.approx([FORTY_AC] * len(names), rel=1e-3)


def test_a_log_is_held_against_the_names_that_the_mend_gives(tmp_path):
    save(TROUBLES["repeated and blank names"][0], tmp_path / "pastures.gpkg")
    log = "unit_id,start,kind\nBluff 2,2025-04-01,burn\nrow 4,2024-04-01,burn\n"
    (tmp_path / "treatments.csv").write_text(log)
    draft = saved_draft(tmp_path)
    mended, _ = taken_up(draft.read_text(encoding="utf-8"))
    assert tomllib.loads(mended)["sources"].keys() == {"units", "treatments"}
    draft.write_text(mended, encoding="utf-8")
    acres_of_run(draft, tmp_path)
    package = next(p for p in (tmp_path / "out").rglob("*.gpkg") if p.stem != "field_plan")
    history = pyogrio.read_dataframe(package, layer="history", read_geometry=False)
    burned = history.loc[history["last_burn"].notna(), "unit_id"]
    assert sorted(burned) == ["Bluff 2", "row 4"]


def test_units_that_nothing_can_mend_offer_no_line(tmp_path):
    write_shapefile(tmp_path / "units.shp", [[ring(shape)] for shape in SQUARES], prj=False)
    text = saved_draft(tmp_path).read_text(encoding="utf-8")
    assert "# check says: " in text
    assert "Take the # away from these lines" not in text
    assert 'names = "numbered"        # or "row"' in text


PLACEMARK = """<Placemark><name>{name}</name><Polygon><outerBoundaryIs><LinearRing><coordinates>
{west},40,0 {east},40,0 {east},40.01,0 {west},40.01,0 {west},40,0
</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>"""


def folder_of_kml(name, west):
    """A folder of two fields side by side that have no names but numbers."""
    marks = (
        PLACEMARK.format(name=n + 1, west=west + 0.01 * n, east=west + 0.01 * (n + 1))
        for n in range(2)
    )
    return f"<Folder><name>{name}</name>{''.join(marks)}</Folder>"


def test_a_kml_with_west_and_east_runs_from_its_draft_unedited(tmp_path):
    folders = folder_of_kml("West", -96.7) + folder_of_kml("East", -96.6)
    (tmp_path / "place.kml").write_text(KML.format(folders=folders))
    acres = acres_of_run(saved_draft(tmp_path), tmp_path)
    assert sorted(acres) == ["East 1", "East 2", "West 1", "West 2"]


def test_five_files_a_tract_run_from_their_draft_unedited(tmp_path):
    tracts = ["Adder", "Bluff", "Creek", "Draw", "Elm"]
    for number, tract in enumerate(tracts):
        fields = [square(column, 3 * number) for column in range(2)]
        path = tmp_path / f"{tract}.shp"
        save(shapes_with(fields, FIELD=["1", "2"]), path)
    acres = acres_of_run(saved_draft(tmp_path), tmp_path)
    assert sorted(acres) == [f"{tract} {field}" for tract in tracts for field in "12"]
    assert list(acres.values()) == pytest.approx([FORTY_AC] * 10, rel=1e-3)


def test_five_files_a_tract_with_one_mend_for_all(tmp_path):
    for number, tract in enumerate(["Adder", "Bluff", "Creek", "Draw", "Elm"]):
        fields = [square(0, 3 * number), square(1, 3 * number), square(2, 3 * number, side=3.0)]
        save(shapes_with(fields, FIELD=["North", "North", "x"]), tmp_path / f"{tract}.shp")
    draft = saved_draft(tmp_path)
    mended, offered = taken_up(draft.read_text(encoding="utf-8"))
    assert offered == {"specks": "drop", "names": "numbered"}
    draft.write_text(mended, encoding="utf-8")
    acres = acres_of_run(draft, tmp_path)
    assert len(acres) == 10
    assert acres["Elm North 2"] == pytest.approx(FORTY_AC, rel=1e-3)
