"""Causes of findings on seed: what each is called and what to do."""

from pipeline.core.causes import Cause

CAUSES = (
    Cause("no_lot", "supply", "species of seed that no lot covers", "order it by PLS pounds", "lb"),
    Cause(
        "not_in_bag", "supply", "species that a bag cannot give", "get another bag, or sow it apart"
    ),
    Cause(
        "pls_unknown",
        "supply",
        "lot[|s] of unknown live seed",
        "copy purity and germination from the tag",
        "lb",
    ),
    Cause("no_live_seed", "supply", "lot[|s] without live seed", "copy the tag again", "lb"),
    Cause(
        "dormant_untold",
        "supply",
        "lot[|s] whose dormant seed is not told",
        "ask for the dormant line",
        "lb",
    ),
    Cause("untested", "supply", "lot[|s] without a test date", "have a sample tested", "lb"),
    Cause(
        "tested_after_planting",
        "supply",
        "lot[|s] tested after planting",
        "look for a slip in one of the two days",
        "lb",
    ),
    Cause("test_too_old", "supply", "lot[|s] whose test is too old", "have it tested again", "lb"),
    Cause(
        "noxious_untold",
        "supply",
        "lot[|s] silent on noxious weeds",
        "ask for the report of the test",
        "lb",
    ),
    Cause(
        "noxious_weed",
        "supply",
        "lot[|s] with noxious weeds named",
        "look the list of the state up before sowing",
        "lb",
    ),
    Cause("weed_seed", "supply", "lot[|s] with much weed seed", "ask what it is", "lb"),
    Cause(
        "ship_by",
        "supply",
        "lot[|s] to be shipped on an old test",
        "have it shipped in time, or tested again",
    ),
    Cause(
        "untested_harvest",
        "supply",
        "line[|s] of own harvest without a test",
        "send a sample in before counting on it",
        "ac",
    ),
    Cause(
        "raised_again",
        "supply",
        "area[|s] whose rate is raised twice",
        "leave the factor out if the rates have it",
        "ac",
    ),
    Cause(
        "rate_method_unknown",
        "supply",
        "area[|s] whose mix tells no method",
        "fill in rate_method",
        "ac",
    ),
    Cause(
        "no_method_factor",
        "supply",
        "area[|s] sown at drilled rates by another method",
        "set [property] region, or method_factor",
        "ac",
    ),
    Cause(
        "thin",
        "supply",
        "area[|s] sown thin",
        "look for a missing rate, or bulk taken for PLS",
        "ac",
    ),
    Cause(
        "thick",
        "supply",
        "area[|s] sown thick",
        "look for a nurse crop counted as seed, or a factor in twice",
        "ac",
    ),
    Cause(
        "no_box",
        "supply",
        "area[|s] with species without a drill box",
        "fill in the column box",
        "ac",
    ),
    Cause("rate_unknown", "supply", "species of unknown rate", "fill in what is named there"),
    Cause("zero_rate", "supply", "species at a rate of 0", "fill in the rate, or take it out"),
    Cause("seeds_per_ounce", "supply", "species counted per ounce", "multiply by 16"),
    Cause(
        "seeds_per_lb_apart",
        "supply",
        "seed count[|s] apart from the published",
        "check it, and what was counted as one seed",
    ),
    Cause(
        "unknown_species", "supply", "species not in the table", "mend the spelling, or add a row"
    ),
    Cause(
        "unclear_species",
        "supply",
        "name[|s] of more than one species",
        "write the scientific name",
    ),
    Cause(
        "companion_as_seed", "supply", "companion[|s] counted as seed", "say so in the column role"
    ),
    Cause(
        "one_grass",
        "supply",
        "grass[|es] that may crowd out the rest",
        "lower its rate if that is not meant",
    ),
    Cause(
        "sown_twice",
        "supply",
        "area[|s] with ground sown twice",
        "take it out of one, unless seed is wanted for both",
        "ac",
    ),
    Cause(
        "variety_differs",
        "supply",
        "lot[|s] of another variety",
        "ask whether it is a fair substitute",
    ),
    Cause(
        "not_bought", "supply", "offer[|s] ruled out by your limits", "nothing, or change the limit"
    ),
    Cause(
        "noxious_blank",
        "supply",
        "list[|s] of lots with an empty noxious cell",
        "write what the tag says",
    ),
    Cause(
        "test_age_unknown", "supply", "test[|s] of unknown age", "fill in what is named there", "lb"
    ),
    Cause("several_lots", "supply", "species from several lots", "weigh each at its own PLS"),
    Cause(
        "limiting_species",
        "supply",
        "bag[|s] ruled by one species",
        "nothing, if more of the others is fine",
    ),
    Cause(
        "gross_is_net",
        "supply",
        "area[|s] with nothing left out",
        "leave roads, water and trees out",
        "ac",
    ),
    Cause("set_to_bulk", "supply", "box[|es] to be set to bulk", "set it to what is weighed"),
    Cause("box_assumed", "supply", "box[|es] assumed", "fill in the column box"),
    Cause(
        "two_depths",
        "supply",
        "area[|s] of fine and coarse seed",
        "let the finest decide the depth",
        "ac",
    ),
    Cause("small_rates", "supply", "mix[|es] with rates in ounces", "weigh in ounces"),
    Cause(
        "shares_apart",
        "supply",
        "share[|s] that differ[s|] by seed and by weight",
        "say which is meant when ordering",
    ),
    Cause(
        "seeds_per_lb_unsure",
        "evidence",
        "seed count[|s] that [is|are] not sure",
        "give the dealer's where it is told",
    ),
    Cause(
        "seed_unit_untold",
        "evidence",
        "seed count[|s] of an untold unit",
        "say what is counted as one seed",
    ),
    Cause("seed_was_worked", "evidence", "name[|s] of worked seed", "give seeds_per_lb in the mix"),
    Cause(
        "name_corrected", "reading", "name[|s] set right", "write the name as taken, if it is right"
    ),
    Cause("percents_meant", "reading", "mix[|es] not of 100 %", "nothing, if it is meant"),
    Cause("factor_used", "reading", "factor[|s] in the rates", "do not raise them again"),
    Cause(
        "factors_of_state",
        "reading",
        "region[|s] without factors of its own",
        "nothing, if those of the state do",
    ),
    Cause(
        "no_factor_region",
        "evidence",
        "region[|s] without factors",
        "name one of those told as [property] region",
    ),
    Cause(
        "no_test_rule",
        "evidence",
        "state[|s] without a rule on tests",
        "ask the seed office, or set test_months",
    ),
    Cause("state_law", "reading", "caution[|s] on seed law", "look it up for the state of use"),
    Cause(
        "contract", "reading", "caution[|s] on contracts", "get mix, rates and dates approved first"
    ),
)
