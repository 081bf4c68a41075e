"""A small invented property with a row of every source, whose text a test may change."""

import json

import numpy as np
import rasterio
from pyproj import Transformer

LEFT, BOTTOM, WIDE, TALL = -96.0, 40.0, 0.0047, 0.0036  # two squares of about 40 acres

PROPERTY = """
[property]
name = "Small Place"
season = 2027
state = "Iowa"
region = "Plains"

[sources]
units = { path = "units.geojson", columns = { unit_id = "UNIT" } }
breaks = [{ path = "road.geojson", kind = "road", width_ft = 16 }]
scenes = [
    { path = "ndvi_2025.tif", date = 2025-07-20, kind = "ndvi" },
    { path = "ndvi_2026.tif", date = 2026-07-22, kind = "ndvi", MASK },
]
elevation = { path = "heights.tif", height_unit = "ft" }
TABLES

[[burns]]
block = "West"
units = ["A"]
wind_from_deg = 225
fuel_height_ft = 4.0

[[seedings]]
area = "East"
units = ["B"]
mix = "dry"
method = "drill"
planting = 2027-05-20
slope = "steep"

[[seedings]]
area = "East again"
units = ["B"]
mix = "dry"
method = "broadcast"
bag = "green bag"

[[comparisons]]
name = "April burn"
before = 2025-07-20
after = 2026-07-22
burned = ["A"]
reference = ["B"]

[fuel]
most_bare_pct = 30

[herd]
head = 40
weight_lb = 1250

[weather]
lowest_temperature_f = 45
lowest_humidity_pct = 35
lowest_wind_mph = 5
wind_height_ft = 20
""".replace("MASK", 'mask = { path = "quality.tif", preset = "scl" }')

TABLES = {
    "species": ("species,seeds_per_lb,box", "Andropogon gerardii,144240,chaffy"),
    "mixes": (
        "mix,species,pls_lb_ac,full_rate_pct,full_rate,role,bulk_lb_ac",
        "dry,Andropogon gerardii,,100,hay,,",
        "dry,oats,,,,nurse,20",
        "wet,Andropogon gerardii,6,,,,",
    ),
    "full_rates": (
        "full_rate,species,pls_lb_ac,region,purpose,rate_method",
        "hay,Andropogon gerardii,6,Plains,hay,drill",
    ),
    "seed_factors": (
        "region,kind,name,factor",
        "Plains,method,broadcast,2",
        "Plains,slope,steep,1.5",
    ),
    "test_rules": ("state,months", "Iowa,9"),
    "seed_lots": (
        "lot,species,purity_pct,germination_pct,hard_pct,dormant_pct,total_viable_pct,"
        "tetrazolium_pct,inert_pct,weed_pct,other_crop_pct,pls_pct,price_usd_per_bulk_lb,"
        "price_usd_per_pls_lb,on_hand_bulk_lb,tested",
        "L1,Andropogon gerardii,90,80,,10,,,9,0.5%,0.5%,81,4,,20,2026-11-01",
    ),
    "seed_bags": (
        "bag,species,purity_pct,germination_pct,tetrazolium_pct",
        "green bag,Andropogon gerardii,80,90,",
    ),
    "harvests": (
        "harvest,species,bulk_lb,sample_g,filled_seeds,cut_seeds,good_seeds,likely_pls_pct",
        "Draw,Andropogon gerardii,30,10,900,20,15,",
    ),
    "mask_presets": (
        "preset,rule,number,meaning,taken_for_burned,source",
        "scl,keep_value,4,kept,no,table",
    ),
    "treatments": (
        "unit_id,start,end,kind,head,animal_unit_equivalent,acres_treated_ac",
        "A,2026-04-14,,burn,,,",
        "B,2026-06-01,2026-07-15,graze,30,1.2,40",
    ),
    "clips": ("unit_id,date,frame_sqft,dry_g", "A,2026-10-01,9.6,180", "B,2026-10-01,1.92,30"),
    "loads": (
        "unit_id,date,measure,load_lb_ac,low_lb_ac,high_lb_ac,reference",
        "B,2026-10-05,standing,3000,2500,3500,own estimate",
    ),
    "winter_losses": ("cover,low_pct,likely_pct,high_pct,source", "prairie,24,50,56,made up"),
    "green_up": (
        "region,cured_from,green_from,green_full,source",
        "plains,03-01,04-10,06-10,invented",
    ),
    "nesting_seasons": ("state,first_day,last_day,as_of,source", "Iowa,05-15,08-01,2021,invented"),
    "unit_limits": ("unit_id,kind,first_day,last_day,note", "A,contract,05-01,07-15,ask first"),
    "season_rules": (
        "rule,when,suggestion,window,reason,source",
        "10,carries = yes,burn,spring,it carries,invented",
        "20,,rest,,nothing else,invented",
    ),
    "daily_temperatures": ("date,tmax_f,tmin_f", "2026-04-14,70,45"),
    "hourly_weather": (
        "time,temperature_f,humidity_pct,wind_mph,wind_from_deg",
        "2026-04-14T13:00,60,50,10,200",
        "2026-04-14T14:00,61,48,11,210",
    ),
    "plants": (
        "unit_id,transect,date,species,cover_class",
        "A,T1,2026-06-20,Poa pratensis,3",
        "A,T2,2026-06-20,Poa pratensis,2",
    ),
    "plant_species": (
        "species,nativity,growth,invader,source",
        "Poa pratensis,introduced,cool-season grass,bluegrass,invented",
    ),
}


def small_files():
    """Text of every file of the property by its name."""
    tables = "\n".join(f'{name} = {{ path = "{name}.csv" }}' for name in TABLES)
    squares = [
        [
            (LEFT + n * WIDE, BOTTOM),
            (LEFT + (n + 1) * WIDE, BOTTOM),
            (LEFT + (n + 1) * WIDE, BOTTOM + TALL),
            (LEFT + n * WIDE, BOTTOM + TALL),
            (LEFT + n * WIDE, BOTTOM),
        ]
        for n in range(2)
    ]
    units = [("Polygon", [square], {"UNIT": "AB"[n]}) for n, square in enumerate(squares)]
    road = [("LineString", [(LEFT, BOTTOM), (LEFT + 2 * WIDE, BOTTOM)], {})]
    return {
        "small.toml": PROPERTY.replace("TABLES", tables),
        "units.geojson": _geojson(units),
        "road.geojson": _geojson(road),
    } | {f"{name}.csv": "\n".join(rows) + "\n" for name, rows in TABLES.items()}


def _geojson(features):
    """Features as the text of a GeoJSON file."""
    return json.dumps(
        {
            "type": "FeatureCollection",
            "features": [
                {
                    "type": "Feature",
                    "properties": told,
                    "geometry": {"type": kind, "coordinates": at},
                }
                for kind, at, told in features
            ],
        }
    )


def write_small_property(folder, files=None):
    """The property written into a folder; the path of its property file."""
    for name, text in (files or small_files()).items():
        (folder / name).write_text(text)
    across, up = Transformer.from_crs(4326, 32614, always_xy=True).transform(LEFT, BOTTOM + TALL)
    profile = {
        "driver": "GTiff",
        "width": 50,
        "height": 30,
        "count": 1,
        "crs": "EPSG:32614",
        "transform": rasterio.Affine(20, 0, across - 60, 0, -20, up + 60),
    }
    ripple = 0.02 * np.sin(np.arange(1500.0)).reshape(30, 50)
    for name, level in (("ndvi_2025.tif", 0.5), ("ndvi_2026.tif", 0.6)):
        _write_raster(folder / name, (level + ripple).astype("float32"), profile)
    _write_raster(folder / "quality.tif", np.full((30, 50), 4, "uint8"), profile)
    _write_raster(folder / "heights.tif", (1000 + 500 * ripple).astype("float32"), profile)
    return folder / "small.toml"


def _write_raster(path, values, profile):
    """One band of values as a raster."""
    with rasterio.open(path, "w", dtype=values.dtype, **profile) as raster:
        raster.write(values, 1)
