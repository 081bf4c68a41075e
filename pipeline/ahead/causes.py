"""Causes of findings of the plan of years: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause(
        "plan_undecided",
        "season",
        "unit[|s] with years ahead left undecided",
        "write down what was done there, or measure the fuel",
        "ac",
    ),
    Cause(
        "fixed_breaks_rule",
        "season",
        "settled year[|s] that break[s|] a rule of the plan",
        "look whether what is planned or fixed there is to stay",
        "ac",
    ),
    Cause(
        "fixed_over_cap",
        "season",
        "year[|s] whose settled burns go beyond a limit",
        "plan or fix fewer burns of the year, or raise the limit",
    ),
    Cause(
        "former_not_kept",
        "season",
        "unit[|s] whose former plan holds for nothing ahead",
        "look whether it has another name now, and rename it in the former plan",
    ),
    Cause(
        "burn_not_in_years",
        "season",
        "planned burn[|s] that the plan of years does not have",
        "look whether the fixed year, the part or the day of the burn is right",
        "ac",
    ),
    Cause(
        "no_neighbor",
        "season",
        "unit[|s] to burn without an unburned neighbor",
        "look for refuge beyond the property",
        "ac",
    ),
    Cause(
        "plan_late",
        "season",
        "unit[|s] past [its|their] longest return for years ahead",
        "look whether the herd, the limits or the return is right",
        "ac",
    ),
    Cause(
        "plan_herd_short",
        "supply",
        "year[|s] in which the plan leaves the herd short",
        "find other feed, keep fewer head, or let short_usd_aum say more",
        "aum",
    ),
    Cause(
        "plan_seed_short",
        "supply",
        "field[|s] that wait[s|] for seed in all years of the plan",
        "buy seed, sow a part of the field, or say in own_seed_ac what your strips give",
        "ac",
    ),
    Cause(
        "plan_smoke",
        "season",
        "unit[|s] to burn ahead, smoke on a place each burn day",
        "ask who lives there, or take the unit out",
        "ac",
    ),
    Cause(
        "plan_weather_few",
        "evidence",
        "plan[|s] whose odds rest on few years of weather",
        "give more years of hours: ten or more tell something",
    ),
    Cause(
        "no_solver",
        "evidence",
        "proof[|s] asked for without the solver",
        "install the extra plan, or set proof_seconds to 0",
    ),
)
