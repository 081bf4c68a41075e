"""The table of steps: the whole pipeline at a glance.

One row writes one layer. A step's function gets the layers it reads, in order, and then its own
settings section if it has one; it returns a frame. Rows stand in running order: each reads only
what a source gave or a row above wrote. A source that was not given arrives as an empty frame.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from pipeline.catalog import LAYERS
from pipeline.core import findings
from pipeline.fire import break_widths, burn_blocks, burn_weather, mowing, smoke_winds, tie_ins
from pipeline.fire import findings as firebreak_findings
from pipeline.fire import stretches as firebreaks
from pipeline.greenness import (
    burned_pixels,
    comparisons,
    cool_season,
    cool_season_changes,
    zone_pixels,
)
from pipeline.greenness import change as greenness
from pipeline.greenness import findings as greenness_findings
from pipeline.ground import acreage
from pipeline.ground import acreage as excluded_ground
from pipeline.ground import edge_graph as edges
from pipeline.log import treatment_log
from pipeline.season import clip_plots, community, fuel, herd, history
from pipeline.season import findings as season_findings
from pipeline.season import plan as season
from pipeline.seed import areas as seed_areas
from pipeline.seed import bags as seed_bags
from pipeline.seed import drill, own_harvest
from pipeline.seed import findings as seed_findings
from pipeline.seed import lot_quality as seed_quality
from pipeline.seed import lots as seed_lots
from pipeline.seed import mixes as seed_mixes
from pipeline.seed import order as seed_order
from pipeline.seed import rates as seed_rates
from pipeline.write import change_map


@dataclass(frozen=True, slots=True)
class Step:
    """One row of the table. ``writes`` and ``reads`` are layer names, ``settings`` a section."""

    writes: str
    function: Callable[..., Any]
    reads: tuple[str, ...]
    settings: str | None = None


FINDINGS_OF_STEPS = tuple(name for name in LAYERS if name.endswith("_findings"))

STEPS: tuple[Step, ...] = (
    Step("units", acreage.measure_units, ("drawn_units", "exclusions")),
    Step("excluded_ground", excluded_ground.measure_excluded_ground, ("exclusions",)),
    Step("acreage_findings", acreage.find_acreage, ("units", "drawn_units"), "acreage"),
    Step("treatment_log", treatment_log.keep_usable_rows, ("treatments", "units")),
    Step("edges", edges.draw_edges, ("drawn_units", "exclusions"), "firebreaks"),
    Step("stretches", firebreaks.trace_stretches, ("edges", "breaks", "burns"), "firebreaks"),
    Step(
        "firebreaks",
        break_widths.measure_firebreaks,
        ("stretches", "breaks", "burns"),
        "firebreaks",
    ),
    Step("tie_ins", tie_ins.mark_tie_ins, ("stretches", "breaks"), "firebreaks"),
    Step("strip_shapes", mowing.draw_strips, ("stretches", "firebreaks"), "mowing"),
    Step("mow_passes", mowing.draw_passes, ("strip_shapes", "stretches"), "mowing"),
    Step("mow_strips", mowing.measure_strips, ("strip_shapes", "mow_passes"), "mowing"),
    Step(
        "burn_blocks",
        burn_blocks.measure_blocks,
        ("burns", "units", "exclusions", "firebreaks", "mow_strips"),
    ),
    Step(
        "firebreak_findings",
        firebreak_findings.find_firebreaks,
        (
            "drawn_units",
            "breaks",
            "burns",
            "edges",
            "firebreaks",
            "tie_ins",
            "mow_strips",
            "burn_blocks",
        ),
        "firebreaks",
    ),
    Step("mix_sheet", seed_mixes.make_mix_sheet, ("mixes", "species", "full_rates")),
    Step(
        "seed_rates",
        seed_rates.set_seed_rates,
        ("seedings", "units", "mix_sheet", "seed_factors"),
        "seed",
    ),
    Step("seed_companions", seed_rates.set_seed_companions, ("seedings", "units", "mix_sheet")),
    Step(
        "own_harvest", own_harvest.estimate_harvests, ("harvests", "species", "seed_rates"), "seed"
    ),
    Step("lot_quality", seed_quality.rate_lots, ("seed_lots", "species", "own_harvest"), "seed"),
    Step("bag_rates", seed_bags.set_bag_rates, ("seed_rates", "seed_bags", "species")),
    Step("seed_use", seed_lots.assign_lots, ("seed_rates", "lot_quality"), "seed"),
    Step(
        "seed_order",
        seed_order.list_order,
        ("seed_rates", "seed_use", "lot_quality", "seed_companions", "bag_rates"),
        "seed",
    ),
    Step(
        "seed_needs",
        seed_order.sum_needs,
        ("seed_rates", "mix_sheet", "lot_quality", "seed_use", "seed_order"),
    ),
    Step(
        "seed_areas",
        seed_areas.measure_seed_areas,
        (
            "seedings",
            "units",
            "exclusions",
            "seed_rates",
            "seed_use",
            "seed_order",
            "seed_companions",
            "bag_rates",
        ),
    ),
    Step(
        "seed_boxes",
        drill.fill_boxes,
        ("seed_areas", "seed_rates", "seed_use", "mix_sheet", "seed_companions", "bag_rates"),
        "seed",
    ),
    Step(
        "seed_findings",
        seed_findings.find_seed,
        (
            "seed_lots",
            "species",
            "mixes",
            "test_rules",
            "seedings",
            "mix_sheet",
            "seed_rates",
            "bag_rates",
            "seed_use",
            "seed_order",
            "seed_companions",
            "seed_areas",
            "seed_boxes",
            "own_harvest",
        ),
        "seed",
    ),
    Step(
        "zone_scenes",
        zone_pixels.measure_zone_scenes,
        ("units", "exclusions", "scenes", "mask_presets", "treatment_log"),
        "greenness",
    ),
    Step(
        "proposed_comparisons",
        comparisons.propose_comparisons,
        ("units", "comparisons", "treatment_log", "zone_scenes"),
        "greenness",
    ),
    Step("compared", comparisons.choose_comparisons, ("comparisons", "proposed_comparisons")),
    Step(
        "zone_changes",
        zone_pixels.measure_zone_changes,
        ("units", "exclusions", "compared", "scenes", "mask_presets"),
        "greenness",
    ),
    Step(
        "change_maps",
        change_map.list_change_maps,
        ("units", "compared", "scenes", "mask_presets"),
        "greenness",
    ),
    Step(
        "greenness",
        greenness.compare_greenness,
        ("units", "compared", "zone_changes", "zone_scenes", "treatment_log"),
        "greenness",
    ),
    Step(
        "burned_shares",
        burned_pixels.measure_burned_shares,
        ("units", "exclusions", "compared", "scenes", "mask_presets", "treatment_log"),
        "greenness",
    ),
    Step(
        "cool_season",
        cool_season.rate_cool_season,
        ("zone_scenes", "compared", "treatment_log"),
        "greenness",
    ),
    Step(
        "cool_season_changes",
        cool_season_changes.judge_cool_season_changes,
        ("cool_season", "compared", "treatment_log"),
        "greenness",
    ),
    Step(
        "greenness_findings",
        greenness_findings.find_greenness,
        (
            "scenes",
            "zone_scenes",
            "proposed_comparisons",
            "compared",
            "zone_changes",
            "change_maps",
            "treatment_log",
            "greenness",
        ),
        "greenness",
    ),
    Step("standing", clip_plots.measure_standing, ("clips", "obstruction", "loads"), "fuel"),
    Step("grazing_rates", herd.rate_grazing, ("units", "treatment_log"), "herd"),
    Step("grazing", herd.count_grazing, ("grazing_rates",), "season"),
    Step(
        "fire_history",
        history.draw_fire_history,
        ("units", "treatment_log", "burned_areas", "property"),
        "season",
    ),
    Step(
        "history",
        history.tell_history,
        ("units", "treatment_log", "fire_history", "grazing", "property"),
        "season",
    ),
    Step(
        "fuel",
        fuel.judge_fuel,
        (
            "units",
            "standing",
            "treatment_log",
            "grazing_rates",
            "winter_losses",
            "daily_temperatures",
            "green_up",
            "nesting_seasons",
            "unit_limits",
            "property",
        ),
        "fuel",
    ),
    Step(
        "forage",
        herd.balance_forage,
        ("units", "standing", "grazing", "burns", "property"),
        "herd",
    ),
    Step("herd_balance", herd.balance_herd, ("property", "forage"), "herd"),
    Step("winds", smoke_winds.list_winds, ("units", "smoke_points"), "weather"),
    Step(
        "burn_weather",
        burn_weather.count_burn_weather,
        ("fuel", "winds", "hourly_weather"),
        "weather",
    ),
    Step(
        "community",
        community.measure_community,
        ("units", "plants", "plant_species"),
        "community",
    ),
    Step(
        "season_plan",
        season.plan_season,
        (
            "units",
            "history",
            "fuel",
            "greenness",
            "community",
            "unit_limits",
            "burns",
            "seedings",
            "season_rules",
            "property",
        ),
        "season",
    ),
    Step(
        "season_findings",
        season_findings.find_season,
        (
            "units",
            "treatment_log",
            "clips",
            "burned_areas",
            "fuel",
            "fire_history",
            "herd_balance",
            "hourly_weather",
            "plants",
            "plant_species",
            "season_plan",
        ),
        "weather",
    ),
    Step("findings", findings.gather_findings, FINDINGS_OF_STEPS),
)
