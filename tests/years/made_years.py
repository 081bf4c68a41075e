"""A made property of four forties over ten seasons, whose plans and log are told by hand here.

Every forty is 40 acres, so that what is planned and done can be added up by head. Each season has a
property file of its own; the log grows, and its rows of days still to come are plans.
"""

import geopandas as gpd
from shapely import box, union_all

from pipeline.catalog import LAYERS, chosen_settings
from pipeline.core.layer import conform, empty
from pipeline.core.run import Run
from pipeline.runner import named_sources, read_property, slug_of
from pipeline.steps import STEPS
from pipeline.write.geopackage import write_geopackage
from pipeline.write.record import newest_source_stamp, settings_rows
from pipeline.years.runs import READ
from tests.four_forties import forties

SEASONS = range(2027, 2037)

HEAD = """
[property]
name = "Four Forties"
season = {season}
as_of = {before}-11-15
state = "Nebraska"
region = "central plains"

[sources.units]
path = "units.geojson"
columns = {{ unit_id = "UNIT" }}
[sources.treatments]
path = "log.csv"
[sources.plants]
path = "plants.csv"
[sources.mixes]
path = "mixes.csv"
[sources.species]
path = "species.csv"
"""

BURN = """
[[burns]]
block = "Block"
units = ["{unit}"]
wind_from_deg = 225
fuel_height_ft = 4.0
first_day = {season}-04-01
last_day = {season}-04-20
"""

SEEDING = """
[[seedings]]
area = "Area"
units = ["{unit}"]
mix = "dry"
method = "drill"
planting = {season}-05-20
"""

PLANNED_IN_FILE = {
    2027: BURN.format(unit="A", season=2027),
    2028: BURN.format(unit="B", season=2028),
    2029: SEEDING.format(unit="C", season=2029),
    2034: BURN.format(unit="A1", season=2034),
    2036: BURN.format(unit="CD", season=2036),
}

DONE = (
    # unit, kind, first day, last day, acres, head, animal units each, method, mix
    "A,graze,2026-06-01,2026-06-30,,30,1.2,,",
    "A,burn,2027-04-10,,,,,,",  # as planned
    "B,burn,2028-05-05,,,,,,",  # 15 days late
    "C,seed,2029-05-20,,25,,,broadcast,dry",  # in part and by another method
    "D,hay,2031-07-20,,,,,,",  # as planned in the log
    "A,graze,2031-08-01,2031-08-30,,30,1.2,,",  # no plan has it
    "A1,burn,2034-04-12,,,,,,",  # as planned, under its new name
)

PLANNED_IN_LOG = {
    2030: "D,mow,2030-06-10,2030-06-12,,,,,",  # not done: gone from the log the next year
    2031: "D,hay,2031-07-15,2031-07-25,,,,,",
}

PLANTS = "unit_id,transect,date,species,cover_pct\n"


def units_of(season):
    """A is called A1 from 2033, B is cut in two from 2034, C and D are one from 2035."""
    frame = forties()
    shapes = dict(zip(frame["UNIT"], frame.geometry, strict=True))
    if season >= 2033:
        shapes["A1"] = shapes.pop("A")
    if season >= 2034:
        whole = shapes.pop("B")
        west, south, east, north = whole.bounds
        shapes["B1"] = box(west, south, east, (south + north) / 2)
        shapes["B2"] = box(west, (south + north) / 2, east, north)
    if season >= 2035:
        shapes["CD"] = union_all([shapes.pop("C"), shapes.pop("D")])
    return gpd.GeoDataFrame({"UNIT": [*shapes]}, geometry=[*shapes.values()], crs=frame.crs)


def write_season(folder, season):
    """Sources of one season; the path of the property file."""
    folder.mkdir(parents=True, exist_ok=True)
    units_of(season).to_crs(4326).to_file(folder / "units.geojson")
    before = season - 1
    done = [row for row in DONE if int(row.split(",")[2][:4]) < season]
    header = "unit_id,kind,start,end,acres_treated_ac,head,animal_unit_equivalent,method,mix"
    planned = [PLANNED_IN_LOG[season]] if season in PLANNED_IN_LOG else []
    (folder / "log.csv").write_text("\n".join([header, *done, *planned]) + "\n")
    unit = "A" if season < 2033 else "A1"
    surveys = [
        f"{unit},T{n},{year}-06-20,{species},{cover + year - 2026}"
        for year in range(2026, season)
        for n in (1, 2)
        for species, cover in (("Andropogon gerardii", 20), ("Bromus inermis", 30))
    ]
    (folder / "plants.csv").write_text(PLANTS + "\n".join(surveys) + "\n")
    (folder / "mixes.csv").write_text("mix,species,pls_lb_ac\ndry,Andropogon gerardii,6\n")
    (folder / "species.csv").write_text(
        "species,common_name,seeds_per_lb\nAndropogon gerardii,big bluestem,144240\n"
    )
    text = HEAD.format(season=season, before=before) + PLANNED_IN_FILE.get(season, "")
    (folder / "four.toml").write_text(text)
    return folder / "four.toml"


NOT_COMPUTED = ("tasks",)
"""Layers that these tests do without: all of the fire lines hang on them."""


def needed_steps():
    """Steps that write what the years are made from, and what those read, in running order."""
    wanted, steps = set(READ) - set(NOT_COMPUTED), []
    for step in reversed(STEPS):
        if step.writes in wanted:
            wanted |= set(step.reads)
            steps.insert(0, step)
    return steps


def computed(path):
    """The run of a property file, its layers computed as far as the years need them."""
    told, intake = read_property(path)
    settings = chosen_settings(told)
    frames = {n: empty(x, intake.crs if x.geometry else None) for n, x in LAYERS.items()}
    frames |= intake.frames | {"settings": conform(settings_rows(told), LAYERS["settings"])}
    for step in needed_steps():
        layer = LAYERS[step.writes]
        crs = intake.crs if layer.geometry else None
        frames[step.writes] = conform(step.compute(frames, settings), layer, crs)
    stamp = newest_source_stamp(path, named_sources(intake))
    return Run(slug_of(told.property.name), frames, intake.crs, stamp)


def write_run(folder, season):
    """The GeoPackage of one season, without the sheets beside it."""
    package = folder / f"four_{season}.gpkg"
    write_geopackage(computed(write_season(folder / "sources" / str(season), season)), package)
    return package


def write_ten_seasons(folder):
    """GeoPackages of all ten seasons."""
    return [write_run(folder, season) for season in SEASONS]
