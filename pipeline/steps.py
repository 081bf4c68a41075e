"""The table of steps: the whole pipeline at a glance.

One row writes one layer. The parameters of its function name the layers that it reads and the
sections of settings that it takes. Rows stand in running order: each reads only what a source
gave or a row above wrote. A source that was not given arrives as an empty layer, and steps that
work ``of`` empty layers alone are passed over.
"""

from pipeline.ahead import burn_days, cases, choices, road_ahead, shared_lines, totals, unit_facts
from pipeline.ahead import findings as ahead_findings
from pipeline.core.step import Step
from pipeline.fire import block_gates, firebreaks, line_plan, stretches, tie_ins
from pipeline.fire import findings as fire_findings
from pipeline.fire.breaks import break_kinds, given_breaks
from pipeline.fire.mowing import moves, mow_strips
from pipeline.fire.slope import findings as slope_findings
from pipeline.fire.slope import slopes
from pipeline.fire.smoke import burn_weather
from pipeline.fire.smoke import winds as smoke_winds
from pipeline.greenness import (
    burned_pixels,
    change,
    comparisons,
    cool_season,
    cool_season_changes,
    zone_pixels,
)
from pipeline.greenness import findings as greenness_findings
from pipeline.greenness.readings import (
    burned_ground,
    picture_findings,
    picture_samples,
    within_unit,
    zone_changes,
)
from pipeline.ground import acreage, edge_graph, neighbors, outline_findings
from pipeline.log import treatment_log
from pipeline.records import blank_log, book, burn_reports, parties, plan_records, seed_records
from pipeline.records import findings as record_findings
from pipeline.season import facts, herd, history, limits, plan
from pipeline.season import findings as season_findings
from pipeline.season.fuel import clip_plots, unit_fuel
from pipeline.season.options import choose, past_work, unwanted
from pipeline.season.phenology import green_dates
from pipeline.season.photos import file_names, points, thumbnails
from pipeline.season.photos import findings as photo_findings
from pipeline.season.plants import changes as plant_changes
from pipeline.season.plants import community, cover, patch_findings, patches
from pipeline.season.plants import findings as plant_findings
from pipeline.season.road import findings as road_findings
from pipeline.season.road import moves as road_moves
from pipeline.season.road import records as road_records
from pipeline.season.road import road, years
from pipeline.seed import (
    areas,
    boxes,
    lot_quality,
    lots,
    mixes,
    order,
    own_harvest,
    rates,
    uncertainty,
)
from pipeline.seed import findings as seed_findings
from pipeline.work import (
    conflicts,
    fire_clashes,
    option_conflicts,
    planned,
    planned_findings,
    unit_clashes,
)
from pipeline.work.sowing import seed_clashes
from pipeline.work.stock import closed_days, feed, herd_moves, stock_clashes
from pipeline.work.tasks import (
    asking_tasks,
    burn_tasks,
    costs,
    ground_tasks,
    photo_tasks,
    seed_tasks,
    task_list,
)

STEPS: tuple[Step, ...] = (
    Step("units", acreage.measure_units),
    Step("ground_totals", acreage.sum_ground),
    Step("excluded_ground", acreage.measure_excluded_ground, of=("exclusions",)),
    Step("usable_log", treatment_log.keep_usable_rows, of=("treatments",)),
    Step("open_plans", treatment_log.keep_open_plans, of=("treatments",)),
    Step("treatment_log", treatment_log.keep_done, of=("usable_log",)),
    Step("planned_log", treatment_log.keep_planned, of=("usable_log", "open_plans")),
    Step("edges", edge_graph.draw_edges),
    Step("neighbors", neighbors.list_neighbors),
    Step("acreage_findings", outline_findings.find_acreage),
    Step("ground_refusals", block_gates.check_ground, of=("burns",)),
    Step("traced_burns", block_gates.leave_out_ground, of=("burns",)),
    Step("break_lines", given_breaks.list_break_lines, of=("breaks",)),
    Step("break_areas", given_breaks.list_break_areas, of=("breaks",)),
    Step("break_credits", break_kinds.credit_breaks, of=("breaks",)),
    Step("traced_stretches", stretches.trace_stretches, of=("traced_burns",)),
    Step("edge_refusals", block_gates.check_edges, of=("traced_burns",)),
    Step("checked_burns", block_gates.leave_out_edges, of=("traced_burns",)),
    Step("stretches", block_gates.keep_stretches, of=("traced_stretches",)),
    Step("firebreaks", firebreaks.measure_firebreaks, of=("stretches",)),
    Step("line_work", line_plan.sum_line_work, of=("firebreaks",)),
    Step("tie_ins", tie_ins.mark_tie_ins, of=("stretches",)),
    Step("strip_shapes", mow_strips.draw_strips, of=("stretches",)),
    Step("mow_passes", mow_strips.draw_passes, of=("strip_shapes",)),
    Step("mow_strips", mow_strips.measure_strips, of=("strip_shapes",)),
    Step("made_lines", mow_strips.measure_lines, of=("strip_shapes",)),
    Step("mow_moves", moves.draw_moves, of=("mow_passes",)),
    Step("mow_routes", moves.measure_routes, of=("stretches",)),
    Step("burn_blocks", block_gates.measure_passed_blocks, of=("burns",)),
    Step("firebreak_findings", fire_findings.find_firebreaks, of=("burns", "breaks")),
    Step("smoke_arcs", smoke_winds.draw_smoke_arcs, of=("smoke_points",)),
    Step("winds", smoke_winds.list_winds, of=("smoke_points",)),
    Step("smoke_places", smoke_winds.list_smoke_places, of=("smoke_points",)),
    Step("winds_left", smoke_winds.list_winds_left, of=("smoke_points",)),
    Step("smoke_findings", smoke_winds.find_smoke, of=("burn_blocks", "smoke_places")),
    Step("unit_slopes", slopes.measure_unit_slopes, of=("elevation",)),
    Step("break_slopes", slopes.measure_break_slopes, of=("elevation",)),
    Step("slope_findings", slope_findings.find_slopes, of=("unit_slopes", "break_slopes")),
    Step("mix_sheet", mixes.make_mix_sheet, of=("mixes",)),
    Step("seed_rates", rates.set_seed_rates, of=("seedings",)),
    Step("own_harvest", own_harvest.estimate_harvests, of=("harvests",)),
    Step("lot_quality", lot_quality.rate_lots, of=("seed_lots", "own_harvest")),
    Step("bag_rates", rates.set_bag_rates, of=("seed_bags",)),
    Step("seed_use", lots.assign_lots, of=("seedings",)),
    Step("seed_companions", rates.set_seed_companions, of=("seedings",)),
    Step("seed_order", order.list_order, of=("seed_rates", "seed_use")),
    Step("seed_needs", order.sum_needs, of=("seed_rates", "seed_use")),
    Step("seed_shed", order.list_shed, of=("lot_quality",)),
    Step("seed_areas", areas.measure_seed_areas, of=("seedings",)),
    Step("seed_errors", uncertainty.measure_errors, of=("seed_areas",)),
    Step("seed_boxes", boxes.fill_boxes, of=("seed_rates", "seed_areas", "seed_companions")),
    Step(
        "seed_findings",
        seed_findings.find_seed,
        of=("seed_lots", "seed_bags", "mixes", "seedings", "own_harvest"),
    ),
    Step("zone_scenes", zone_pixels.measure_zone_scenes, of=("scenes", "zonal_series")),
    Step("picture_samples", picture_samples.sample_pictures, of=("scenes",)),
    Step("picture_findings", picture_findings.find_pictures, of=("picture_samples", "zone_scenes")),
    Step("proposed_comparisons", comparisons.propose_comparisons, of=("zone_scenes",)),
    Step(
        "chosen_comparisons",
        comparisons.choose_comparisons,
        of=("comparisons", "proposed_comparisons"),
    ),
    Step(
        "burned_ground", burned_ground.draw_burned_ground, of=("burned_areas", "chosen_comparisons")
    ),
    Step("pixel_changes", zone_changes.measure_pixel_changes, of=("chosen_comparisons",)),
    Step("zone_changes", zone_changes.keep_whole_units, of=("pixel_changes",)),
    Step("within_unit", within_unit.compare_within_units, of=("pixel_changes",)),
    Step("within_unit_findings", within_unit.find_within_units, of=("pixel_changes",)),
    Step("change_maps", zone_changes.list_change_maps, of=("chosen_comparisons",)),
    Step("burned_shares", burned_pixels.measure_burned_shares, of=("scenes", "chosen_comparisons")),
    Step("greenness", change.compare_greenness, of=("chosen_comparisons",)),
    Step("burn_effects", change.pool_burns, of=("greenness",)),
    Step("cool_season", cool_season.rate_cool_season, of=("zone_scenes",)),
    Step("cool_season_changes", cool_season_changes.judge_cool_season_changes, of=("cool_season",)),
    Step("greenness_findings", greenness_findings.find_greenness),
    Step("standing", clip_plots.measure_standing, of=("clips", "obstruction", "loads")),
    Step("grazing_rates", herd.rate_grazing, of=("treatment_log",)),
    Step("grazing", herd.count_grazing, of=("grazing_rates",)),
    Step("fire_history", history.draw_fire_history, of=("treatment_log", "burned_areas")),
    Step("history", history.tell_history),
    Step("community", community.measure_community, of=("plants",)),
    Step("fuel", unit_fuel.judge_fuel),
    Step("held_limits", limits.keep_held, of=("unit_limits",)),
    Step("forage", herd.balance_forage),
    Step("herd_balance", herd.balance_herd),
    Step("burn_weather", burn_weather.count_burn_weather, of=("hourly_weather",)),
    Step("weather_findings", burn_weather.find_weather, of=("hourly_weather",)),
    Step("plant_cover", cover.list_plant_cover, of=("plants",)),
    Step("plant_groups", cover.sum_plant_groups, of=("plants",)),
    Step("plant_changes", plant_changes.compare_plant_surveys, of=("plants",)),
    Step("plant_findings", plant_findings.find_plants, of=("plants",)),
    Step("plant_place_findings", patch_findings.find_plant_places, of=("plants",)),
    Step("patch_ground", patches.measure_patches, of=("patches",)),
    Step("patch_years", patches.count_patch_years, of=("patch_ground",)),
    Step("patch_findings", patch_findings.find_patches, of=("patches",)),
    Step("road_records", road_records.list_road_records),
    Step("road_moves", road_moves.walk_roads),
    Step("road", road.tell_road),
    Step("road_years", years.tell_road_years),
    Step("road_findings", road_findings.find_road),
    Step("photos", file_names.list_photos, of=("photo_files", "photo_list")),
    Step("photo_windows", points.list_photo_windows, of=("photos",)),
    Step("photo_years", points.count_photo_years, of=("photos",)),
    Step("photo_points", points.measure_photo_points, of=("drawn_photo_points",)),
    Step("photo_thumbnails", thumbnails.make_thumbnails, of=("photos",)),
    Step("photo_findings", photo_findings.find_photos, of=("photo_points", "photos")),
    Step("phenology_dates", green_dates.date_phenology, of=("phenology",)),
    Step("phenology_findings", green_dates.find_phenology, of=("phenology_dates",)),
    Step("season_limits", limits.list_limits),
    Step("past_work", past_work.weigh_past_work, of=("treatment_log",)),
    Step("unwanted", unwanted.tell_unwanted),
    Step("season_facts", facts.gather_facts),
    Step("season_options", choose.list_season_options),
    Step("season_plan", plan.plan_season),
    Step("plan_facts", plan.list_plan_facts),
    Step("season_findings", season_findings.find_season),
    Step("planned_work", planned.list_planned_work, of=("burns", "seedings", "planned_log")),
    Step("planned_findings", planned_findings.find_planned, of=("burns", "seedings", "usable_log")),
    Step("closed_days", closed_days.list_closed_days),
    Step("plan_feed", feed.count_plan_feed),
    Step("herd_moves", herd_moves.plan_moves, of=("plan_feed", "planned_log", "treatment_log")),
    Step("herd_feed", feed.balance_plan_feed, of=("plan_feed",)),
    Step("feed_findings", feed.find_feed, of=("herd_feed",)),
    Step("fire_clashes", fire_clashes.find_fire_clashes, of=("planned_work",)),
    Step("unit_clashes", unit_clashes.find_unit_clashes, of=("planned_work",)),
    Step("stock_clashes", stock_clashes.find_stock_clashes, of=("planned_log", "plan_feed")),
    Step("seed_clashes", seed_clashes.find_seed_clashes, of=("planned_work",)),
    Step(
        "conflicts",
        conflicts.judge_conflicts,
        of=("fire_clashes", "unit_clashes", "stock_clashes", "seed_clashes"),
    ),
    Step("block_conflicts", conflicts.count_block_conflicts, of=("burn_blocks",)),
    Step("option_conflicts", option_conflicts.list_option_conflicts, of=("planned_work",)),
    Step("burn_tasks", burn_tasks.list_burn_tasks, of=("planned_work",)),
    Step("seed_tasks", seed_tasks.list_seed_tasks, of=("planned_work",)),
    Step("ground_tasks", ground_tasks.list_ground_tasks),
    Step("asking_tasks", asking_tasks.list_asking_tasks, of=("planned_work",)),
    Step("photo_tasks", photo_tasks.list_photo_tasks, of=("photo_windows",)),
    Step(
        "tasks",
        task_list.list_tasks,
        of=("conflicts", "burn_tasks", "seed_tasks", "ground_tasks", "asking_tasks", "photo_tasks"),
    ),
    Step("season_costs", costs.sum_season_costs, of=("tasks",)),
    Step("plan_edges", shared_lines.measure_plan_edges),
    Step("offered_days", burn_days.list_offered_days),
    Step("burn_days", burn_days.count_burn_days),
    Step("plan_units", unit_facts.gather_plan_units),
    Step("plan_choices", choices.choose_years),
    Step("plan_years", totals.map_plan_years),
    Step("plan_totals", totals.sum_plan_years),
    Step("plan_summary", totals.sum_plan),
    Step("plan_case_years", cases.list_case_years),
    Step("plan_cases", cases.sum_what_ifs),
    Step("plan_road", road_ahead.walk_ahead, of=("plan_choices",)),
    Step("plan_states", road_ahead.sum_states, of=("plan_road",)),
    Step("plan_findings", ahead_findings.find_plan_of_years),
    Step("record_book", book.keep_records, of=("treatments", "burned_areas")),
    Step("burn_reports", burn_reports.report_burns, of=("record_book",)),
    Step(
        "seed_records",
        seed_records.list_seed_records,
        of=("record_book", "harvests", "seed_lots", "seedings"),
    ),
    Step(
        "plan_records",
        plan_records.hold_plans_against_records,
        of=("record_book", "open_plans", "burns", "seedings"),
    ),
    Step(
        "work_records", parties.list_work_records, of=("record_book", "planned_work", "planned_log")
    ),
    Step("owner_units", parties.list_owner_units),
    Step("contract_records", parties.list_contract_records, of=("work_records",)),
    Step("blank_log", blank_log.make_blank_log, of=("planned_work",)),
    Step("record_findings", record_findings.find_records, of=("record_book", "plan_records")),
)
"""Every step in running order."""
