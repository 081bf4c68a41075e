"""Which of several files is used: held against each other, and by age."""

import shapely

from pipeline.catalog import LAYERS
from pipeline.intake.settings import table_names
from pipeline.intake.survey.file_look import FoundFile, column_look
from pipeline.intake.survey.placing import ground_share, placed

TABLES = {name: LAYERS[name] for name in table_names()}
NAMES = (column_look("UNIT", ["A"]),)


def polygons(path, ground=None, changed=0.0, columns=NAMES):
    """A layer of one polygon."""
    return FoundFile(path, "polygons", columns, 1, ground=ground, extent=ground, changed=changed)


def roles(*files):
    """Role of each file by its path, None where it is not used."""
    return {p.found.path: p.guess.role if p.is_used else None for p in placed(files, TABLES)}


def test_polygons_over_half_of_the_units_are_no_break_and_no_ground_left_out():
    units = polygons("units.shp", shapely.box(0, 0, 10, 10))
    large = shapely.box(-50, -50, 50, 6)
    names = ("lake.shp", "exclusions.shp")
    assert set(roles(units, *(polygons(n, large) for n in names)).values()) == {"units", None}
    small = shapely.box(-50, -50, 50, 1)
    assert roles(units, *(polygons(n, small) for n in names)) == {
        "units.shp": "units",
        "lake.shp": "breaks",
        "exclusions.shp": "exclusions",
    }
    assert ground_share(polygons("x", large), units) == 0.6
    (_, told) = placed([units, polygons("lake.shp", large)], TABLES)
    assert "covers 60% of the units' ground" in told.guess.reason


def test_what_a_break_covers_must_be_known():
    assert roles(polygons("units.shp"), polygons("lake.shp"))["lake.shp"] is None


def test_of_copies_the_newest_is_used_and_the_other_told():
    current, old = polygons("units.shp", changed=2.0), polygons("2019/units.shp", changed=1.0)
    assert roles(old, current) == {"2019/units.shp": None, "units.shp": "units"}
    told = placed([old, current], TABLES)[0].guess.reason
    assert told == "looks like an older copy of units.shp, which is taken"


def test_what_was_put_away_as_old_is_never_the_newest():
    names = ("old/units.shp", "units - Copy.shp", "units_backup.shp", "units (1)_old.shp")
    for name in names:
        put_away = polygons(name, changed=9.0)
        assert roles(polygons("units.shp", changed=1.0), put_away)[name] is None


def test_days_in_names_tell_which_copy_is_newer():
    files = [polygons("units_2026-03-01.shp", changed=1.0), polygons("units_2025-03-01.shp")]
    later = [files[0], polygons("units_2025-03-01.shp", changed=9.0)]
    assert roles(*later)["units_2026-03-01.shp"] == "units"


def test_files_of_one_name_in_other_places_are_no_copies():
    near, far = shapely.box(0, 0, 1000, 1000), shapely.box(1000, 0, 2000, 1000)
    reasons = [
        p.guess.reason
        for p in placed([polygons("west/units.shp", near), polygons("east/units.shp", far)], TABLES)
    ]
    assert not any("copy" in reason for reason in reasons)
    assert sum("could be the units too" in reason for reason in reasons) == 1


def test_lines_of_one_name_side_by_side_are_both_used():
    extents = {"west": shapely.box(0, 0, 1000, 900), "east": shapely.box(990, 0, 2000, 900)}
    files = [FoundFile(f"{n}/roads.shp", "lines", extent=box) for n, box in extents.items()]
    assert set(roles(*files).values()) == {"breaks"}


def test_units_are_those_that_a_column_names():
    nameless = polygons("units.shp", columns=())
    assert roles(nameless, polygons("parcels.shp"))["parcels.shp"] == "units"


def test_the_only_polygons_are_the_units():
    assert roles(polygons("shapes.shp")) == {"shapes.shp": "units"}
    assert roles(polygons("watershed.shp")) == {"watershed.shp": None}


def test_units_are_only_likely_where_another_layer_could_be_them():
    def sure(*files):
        """How sure each file is, by its path."""
        return {p.found.path: (p.guess.role, p.guess.sure) for p in placed(files, TABLES)}

    two = sure(polygons("both.kml"), polygons("other.kml"))
    assert two == {"both.kml": ("units", "likely"), "other.kml": ("units", "likely")}
    named = sure(polygons("units.shp"), polygons("soils.shp"))
    assert named == {"units.shp": ("units", "yes"), "soils.shp": (None, "no")}


def test_of_two_tables_of_a_kind_the_newest_is_used():
    columns = tuple(column_look(name, ["x"]) for name in ("mix", "species"))
    old, new = (FoundFile(f"mixes_{n}.csv", "table", columns, 1, changed=n) for n in (1, 2))
    assert roles(old, new) == {"mixes_1.csv": None, "mixes_2.csv": "mixes"}
    assert "mixes_2.csv is newer and taken" in placed([old, new], TABLES)[0].guess.reason


def test_layers_of_one_file_that_are_drawn_alike_are_all_units():
    west, east = shapely.box(0, 0, 10, 10), shapely.box(10, 0, 20, 10)
    layers = [
        FoundFile("places.kml", "polygons", NAMES, 1, layer=name, ground=g, extent=g)
        for name, g in (("West", west), ("East", east))
    ]
    told = placed(layers, TABLES)
    assert [(p.are_units, p.guess.settings.get("prefix")) for p in told] == [
        (True, "West"),
        (True, "East"),
    ]


def test_files_of_one_folder_that_are_drawn_alike_are_all_units_where_they_lie_apart():
    def tract(n, folder="tracts", columns=NAMES):
        return polygons(f"{folder}/t{n}.shp", shapely.box(10 * n, 0, 10 * n + 10, 10), 0, columns)

    other = (column_look("OWNER", ["B"]),)
    files = [tract(1), tract(2), tract(3), tract(4, "neighbors"), tract(0, columns=other)]
    assert [p.are_units for p in placed(files, TABLES)] == [True, True, True, False, False]
    same_ground = [tract(1), polygons("tracts/u.shp", shapely.box(10, 0, 20, 10))]
    assert sum(p.are_units for p in placed(same_ground, TABLES)) == 1
