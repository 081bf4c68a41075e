"""Codes of all that can stand against planned work: the rows that the conflict rules must have.

The order here is the order of the rules: of two equally serious conflicts the earlier comes first.
"""

WORK_KINDS = (
    "burn",
    "seed",
    "graze",
    "rest",
    "mow",
    "hay",
    "spray",
    "till",
    "cut",
    "drag",
    "move",
    "harvest",
)
"""What may be planned: a burn or seeding of the property file, or a row of the log's future."""


FIRE_CODES = (
    "fuel_will_not_carry",
    "fuel_only_at_high",
    "fuel_patchy",
    "fuel_broken",
    "fuel_heavy",
    "fuel_not_measured",
    "fuel_taken_since",
    "fuel_animals_unknown",
    "window_unknown",
    "days_before_cured",
    "days_after_window",
    "days_run_past_window",
    "days_past_low_window",
    "days_past_early_window",
    "burn_without_block",
    "smoke_on_near_place",
    "smoke_on_place",
    "wind_not_planned",
    "wind_outside_limits",
    "no_wind_fits",
    "no_past_day",
    "few_past_days",
    "block_refused",
    "unit_ground_lost",
    "break_short_downwind",
    "break_short",
    "break_short_on_slope",
    "break_not_judged",
    "gap_downwind",
    "gap",
    "edge_to_prepare",
    "head_of_slope",
    "reference_running",
    "reference_newest",
    "cover_all_burned",
    "only_unit_of_cover",
    "no_unburned_neighbor",
    "neighbor_burned_last_year",
    "burned_lately",
)
"""What the fire, season and greenness layers know that stands against a burn."""


UNIT_CODES = (
    "species_limit",
    "contract_limit",
    "easement_limit",
    "cultural_limit",
    "other_limit",
    "approved_limit",
    "nesting_season",
    "nesting_in_window",
    "nesting_grazed",
    "fire_ruled_out",
    "plan_asks_first",
    "plan_otherwise",
    "plan_wants_record",
    "young_seeding_burned",
    "young_seeding_grazed",
    "sowing_burned",
    "sowing_in_burn_days",
    "sowing_and_burn",
    "sowing_grazed",
    "oversowing_grazed",
    "sprayed_before_sowing",
    "sprayed_after_sowing",
    "fuel_taken_before_burn",
    "rest_broken",
    "days_are_over",
    "planned_twice",
)
"""What is known of a unit, or planned on it too, that stands against any work."""


STOCK_CODES = (
    "stock_in_fuel",
    "stock_on_shared_ground",
    "stock_in_recovery",
    "stock_in_deferral",
    "stock_above_forage",
    "stock_above_herd",
    "stock_twice",
    "stock_same_timing",
    "stock_untold",
    "stock_feed_unknown",
    "herd_short_of_feed",
)
"""What the herd's layers know that stands against grazing."""


SEED_CODES = (
    "seed_noxious_named",
    "sown_no_ground",
    "sown_unprepared",
    "sown_part_unprepared",
    "sown_ground_untold",
    "sown_after_green_up",
    "sown_out_of_window",
    "sown_too_steep",
    "frost_seed_on_slope",
    "sowing_without_area",
    "seed_rate_unknown",
    "seed_missing",
    "seed_more_than_offered",
    "seed_late",
    "seed_test_out",
    "seed_test_out_left",
    "seed_own_untested",
    "seed_lot_shared",
    "seed_noxious_blank",
)
"""What the seed layers know that stands against a seeding."""


CODES = (*FIRE_CODES, *UNIT_CODES, *STOCK_CODES, *SEED_CODES)
"""Every code, in the order of the rules."""


BOUNDED = (
    "smoke_on_near_place",
    "few_past_days",
    "head_of_slope",
    "neighbor_burned_last_year",
    "young_seeding_burned",
    "young_seeding_grazed",
    "sowing_burned",
    "sowing_grazed",
    "oversowing_grazed",
    "sprayed_before_sowing",
    "stock_on_shared_ground",
    "stock_same_timing",
    "sown_unprepared",
    "sown_part_unprepared",
    "sown_too_steep",
    "frost_seed_on_slope",
    "seed_lot_shared",
)
"""Codes that are raised from a bound of their rule on, so that the rule must tell one."""
