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
