"""The choices of the plan of years in words. Nothing reads them back."""

CODE_WORDS = {
    "burn_dormant": "burn, dormant season",
    "burn_early_spring": "burn, early spring",
    "burn_late_spring": "burn, late spring",
    "burn_summer": "burn, summer",
    "burn_fall": "burn, fall",
    "graze_early": "graze early",
    "graze_late": "graze late",
}


REASON_WORDS = {
    "needs_record": "not known enough: write down what was done there",
    "needs_fuel": "not known enough: measure the fuel",
    "overdue": "past its longest return",
    "within_return": "due within its return",
    "burns_with_neighbor": "burns with a neighbor and saves the line between",
    "grows_fuel": "grows the fuel of a burn",
    "after_burn": "rests after its burn",
    "feeds_herd": "feeds the herd",
    "ends_rest": "keeps the rest from growing long",
    "hay_wanted": "hay is wanted",
    "sows_field": "the field is sown",
    "waits_for_seed": "waits for seed",
    "former_plan": "as in the former plan: a change pays too little",
    "nothing_better": "nothing else is worth more",
    "nothing_else": "nothing else may be done there",
    "fixed": "settled: done, planned, or your fixed years",
    "establishing": "a sowing that takes hold",
}


NO_BURN_WORDS = {
    "no_fire": "no fire is wanted there",
    "fuel_never_carries": "its fuel never carries a fire",
    "limit": "a limit without an approval on record",
    "not_wanted": "not among what you want",
    "no_supply": "its forage is not known",
    "no_herd": "no herd is told that could graze it",
    "time_left_out": "a time of the year that is left out",
    "window_passed": "the season's window has passed",
    "fixed_otherwise": "fixed to something else",
    "least_return": "burned too few years ago",
    "fuel_rest": "too few seasons of rest to grow fuel",
    "same_time": "the same time as the last one",
    "burned_rest": "the year after its burn",
    "cap_whole": "the cap of the whole property",
    "cap_cover": "the cap of its kind of ground",
    "crew_days": "the crew's days",
    "own_seed": "the seed of your own strips",
    "refuge": "its neighbors need it as refuge",
    "apart": "units burned in one year must not touch",
    "herd": "the herd needs it",
    "line": "its line costs more",
    "smoke": "smoke meets a place",
    "worth": "worth more in another year",
    "money": "the money of the year",
    "establishing": "a sowing, or a field without a sward",
}
