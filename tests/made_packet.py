"""A made property of burn blocks and seeding areas, as the layers that the packet reads."""

from itertools import pairwise

import numpy as np
from shapely.affinity import rotate
from shapely.geometry import LineString, Point, box
from shapely.geometry.polygon import orient

from pipeline.core.units import M_PER_FT
from tests.literal_layers import literal_layer

CRS = "+proj=laea +lat_0=44 +lon_0=-97 +datum=WGS84 +units=m +type=crs"
READ = (
    "property",
    "units",
    "excluded_ground",
    "break_lines",
    "break_areas",
    "gates",
    "water_places",
    "burn_blocks",
    "firebreaks",
    "break_slopes",
    "tie_ins",
    "mow_strips",
    "mow_passes",
    "mow_moves",
    "mow_routes",
    "made_lines",
    "smoke_places",
    "smoke_arcs",
    "winds_left",
    "findings",
    "seed_areas",
    "seed_boxes",
    "seed_use",
    "seed_rates",
    "seed_companions",
    "settings",
    "fuel",
    "history",
    "season_limits",
    "season_options",
    "option_conflicts",
    "forage",
    "unit_slopes",
    "conflicts",
    "tasks",
    "planned_work",
    "fire_history",
    "road",
    "road_moves",
    "road_years",
    "treatment_log",
    "record_book",
    "photo_points",
    "photo_windows",
    "community",
    "plant_groups",
    "plant_cover",
    "plant_changes",
    "patch_years",
    "patch_ground",
)


def layer(name, records, shapes=None):
    """Frame of a layer from records, in the CRS of the made property."""
    return literal_layer(name, records, shapes, CRS)


def rectangle_m(width_ft, height_ft):
    """Rectangle around the origin [meter]."""
    x, y = width_ft * M_PER_FT / 2, height_ft * M_PER_FT / 2
    return box(-x, -y, x, y)


def sides(shape, parts=1):
    """Sides of a polygon, each in equal parts, the polygon on their left hand."""
    ring = list(orient(shape).exterior.coords)
    lines = []
    for start, end in pairwise(ring):
        steps = np.linspace(start, end, parts + 1)
        lines += [LineString(pair) for pair in pairwise(steps)]
    return lines


def block_frames(
    width_ft=1000.0,
    height_ft=600.0,
    *,
    block="Block",
    unit="U1",
    status="existing",
    parts=1,
    wind_from_deg=225.0,
    name="Made Prairie",
    places=0,
    turned_deg=0.0,
):
    """Layers of a property of one rectangular block, ``turned_deg`` counterclockwise."""
    shape = rotate(rectangle_m(width_ft, height_ft), turned_deg)
    lines = sides(shape, parts)
    stretches = [
        {
            "break_id": f"B{n:04d}",
            "block": block,
            "adjoining": "outside",
            "ring": "outer",
            "status": status,
            "kind": "lane" if status == "existing" else None,
            "length_ft": line.length / M_PER_FT,
            "bearing_deg": 90.0,
            "wind_side": "downwind",
            "bare_ft": 12.0,
            "mown_ft": 0.0,
            "blackline_ft": 0.0,
            "make_bare_ft": 0.0,
            "make_mown_ft": 0.0,
            "make_black_ft": 0.0,
            "kind_unknown_ft": 0.0,
            "required_ft": 30.0,
            "rule": "own",
            "planned_ft": 12.0,
            "short_ft": 18.0,
        }
        for n, line in enumerate(lines, start=1)
    ]
    acres = width_ft * height_ft / 43560
    perimeter = 2 * (width_ft + height_ft)
    figures = {
        "block": block,
        "unit_ids": unit,
        "gross_ac": acres,
        "units_ac": acres,
        "overlap_ac": 0.0,
        "slivers": 0,
        "sliver_ac": 0.0,
        "excluded_ac": 0.0,
        "break_ac": 0.0,
        "burnable_ac": acres,
        "perimeter_ft": perimeter,
        "existing_ft": perimeter,
        "width_unknown_ft": 0.0,
        "kind_unknown_ft": 0.0,
        "gap_ft": 0.0,
        "prepare_ft": 0.0,
        "shared_ft": 0.0,
        "wind_from_deg": wind_from_deg,
    }
    ties = [
        {
            "tie_in_id": f"T{n:04d}",
            "block": block,
            "kind": "tie_in",
            "distance_ft": 10.0,
            "break_kind": "lane",
        }
        for n in range(places)
    ]
    unit_row = {
        "unit_id": unit,
        "gross_ac": acres,
        "no_burn_ac": 0.0,
        "no_seed_ac": 0.0,
        "burnable_ac": acres,
        "seedable_ac": acres,
        "perimeter_ft": perimeter,
    }
    planned = {"work_id": f"burn:{block}", "unit_id": unit, "kind": "burn", "block": block}
    planned |= {"days_from": "none"}
    frames = {read: layer(read, []) for read in READ}
    return frames | {
        "property": layer("property", [{"name": name, "season": 2027}]),
        "units": layer("units", [unit_row], [shape]),
        "planned_work": layer("planned_work", [planned], [shape]),
        "burn_blocks": layer("burn_blocks", [figures], [shape]),
        "firebreaks": layer("firebreaks", stretches, lines),
        "tie_ins": layer("tie_ins", ties, [Point(0, 0)] * places),
    }


def with_area(frames, area="Area", contents="seed", lots=1):
    """The same layers with a seeding area."""
    shape = rectangle_m(660, 660)
    boxes = {"area": area, "box": "large", "contents": contents, "setting_lb_ac": 12.0}
    use = [
        {
            "area": area,
            "species": f"Species {n:03d}",
            "lot": f"L{n}",
            "role": "seed",
            "stock": "held",
            "pls_pct": 80.0,
            "pls_lb": 8.0,
            "bulk_lb": 10.0,
            "sequence": 1,
        }
        for n in range(lots)
    ]
    figures = {
        "area": area,
        "unit_ids": "U1",
        "mix": "Mix",
        "method": "drill",
        "gross_ac": 10.0,
        "net_ac": 10.0,
    }
    return frames | {
        "seed_areas": layer("seed_areas", [figures], [shape]),
        "seed_boxes": layer("seed_boxes", [boxes]),
        "seed_use": layer("seed_use", use),
    }
