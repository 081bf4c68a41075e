"""The odds of a year: whether its burns find days with one crew, by the weather of past years."""

import math

import pandas as pd


def fit_pct(burns: pd.DataFrame, offered_days: pd.DataFrame) -> tuple[float | None, int | None]:
    """Share [percent] of the years of weather in which all burns found days, and those years.

    Each year of the weather is lived through once: every burn needs as many days of its own as it
    takes crew days, on each of which the weather and the smoke let it be, and no day has two burns.
    Burns at a time of the year for which no days were counted are left out: settled ones may be so.
    None without weather, and where a burn has no days on record at all.
    """
    burns = burns[burns["treatment"].isin(offered_days["treatment"])]
    keys = list(zip(burns["unit_id"], burns["treatment"], strict=True))
    days_needed = [math.ceil(days) for days in burns["crew_days"]]
    of_burns = offered_days[offered_days["unit_id"].isin([unit for unit, _ in keys])]
    by_key = dict(list(of_burns.groupby(["unit_id", "treatment"])))
    if not keys or any(key not in by_key for key in keys):
        return None, None
    years = sorted(set.intersection(*(set(by_key[key]["weather_year"]) for key in keys)))
    if not years:
        return None, None
    fitting = 0
    for year in years:
        slots = []
        for key, needed in zip(keys, days_needed, strict=True):
            days = by_key[key]
            free = days[(days["weather_year"] == year) & days["smoke_free"].astype(bool)]
            slots += [sorted(free["day"])] * needed
        fitting += int(all_placed(slots))
    return 100.0 * fitting / len(years), len(years)


def all_placed(choices: list[list[pd.Timestamp]]) -> bool:
    """Whether each one can have a day of its own among its choices.

    A matching of all of them, grown along augmenting paths (Kuhn's method).
    """
    holder: dict[pd.Timestamp, int] = {}

    def placed(one: int, seen: set[pd.Timestamp]) -> bool:
        for day in choices[one]:
            if day not in seen:
                seen.add(day)
                if day not in holder or placed(holder[day], seen):
                    holder[day] = one
                    return True
        return False

    return all(placed(one, set()) for one in range(len(choices)))
