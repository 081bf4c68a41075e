"""Causes of findings of fuel, history, herd and season: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "limit_in_window",
        "season",
        "unit[|s] whose burn window meets a limit",
        "plan outside those days, or ask the office named",
        "ac",
    ),
    Cause(
        "limit_over",
        "season",
        "limit[|s] of units past the last year",
        "look whether it was renewed, and raise last_year in unit_limits if so",
    ),
    Cause(
        "heavy_load",
        "fire",
        "unit[|s] with a heavy load in spring",
        "look at the widths of the breaks again",
        "ac",
    ),
    Cause(
        "broken_fuel",
        "season",
        "unit[|s] with fuel broken by bare ground",
        "expect a patchy burn, or let it grow",
        "ac",
    ),
    Cause(
        "burned_again_soon",
        "season",
        "piece[|s] of ground burned again too soon",
        "give it a rest where the stand should recover",
        "ac",
    ),
    Cause(
        "burn_not_in_log",
        "season",
        "burned area[|s] without a burn in the log",
        "write the burn into the treatments, or mend its day",
    ),
    Cause(
        "demand_above_supply",
        "supply",
        "herd[|s] that need[s|] more than there is",
        "look at the stocking",
        "aum",
    ),
    Cause(
        "supply_above_demand",
        "supply",
        "herd[|s] with more than it needs",
        "look at the stocking",
        "aum",
    ),
    Cause("plot_without_weight", "season", "clip plot[|s] without a dry weight", "mend the row"),
    Cause("bag_too_heavy", "season", "clip plot[|s] lighter than the bag", "mend the row"),
    Cause(
        "pole_without_regression",
        "season",
        "set[|s] of pole readings without a regression",
        "set pole_slope_lb_in and pole_intercept_lb_ac of [fuel]",
    ),
    Cause(
        "pole_below_nothing",
        "season",
        "set[|s] of pole readings below nothing",
        "look at the regression of [fuel]",
    ),
    Cause("region_not_listed", "season", "region[|s] without dates", "mend [property] region"),
    Cause("region_assumed", "season", "region[|s] assumed", "name [property] region"),
    Cause(
        "override_not_used",
        "season",
        "load[|s] put before measurements but not used",
        "mend the day of the row in loads",
    ),
    Cause(
        "latitude_beyond_rows",
        "season",
        "unit[|s] far from the latitudes of green_up",
        "add rows to green_up, or give daily temperatures",
    ),
    Cause("state_not_given", "season", "state[|s] not told", "name [property] state"),
    Cause("state_not_listed", "season", "state[|s] without a nesting season", "look the season up"),
    Cause(
        "planning_aid",
        "reading",
        "caution[|s] on fuel and burn windows",
        "nothing here permits a fire: the burn boss and the permits decide",
    ),
)
