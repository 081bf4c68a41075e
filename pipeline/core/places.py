"""States and regions as people write them: by name or postal letters, in any case of letters."""

import re

from pipeline.core.names import spelling

STATE_BY_LETTERS = {
    "AL": "Alabama",
    "AK": "Alaska",
    "AZ": "Arizona",
    "AR": "Arkansas",
    "CA": "California",
    "CO": "Colorado",
    "CT": "Connecticut",
    "DE": "Delaware",
    "FL": "Florida",
    "GA": "Georgia",
    "HI": "Hawaii",
    "ID": "Idaho",
    "IL": "Illinois",
    "IN": "Indiana",
    "IA": "Iowa",
    "KS": "Kansas",
    "KY": "Kentucky",
    "LA": "Louisiana",
    "ME": "Maine",
    "MD": "Maryland",
    "MA": "Massachusetts",
    "MI": "Michigan",
    "MN": "Minnesota",
    "MS": "Mississippi",
    "MO": "Missouri",
    "MT": "Montana",
    "NE": "Nebraska",
    "NV": "Nevada",
    "NH": "New Hampshire",
    "NJ": "New Jersey",
    "NM": "New Mexico",
    "NY": "New York",
    "NC": "North Carolina",
    "ND": "North Dakota",
    "OH": "Ohio",
    "OK": "Oklahoma",
    "OR": "Oregon",
    "PA": "Pennsylvania",
    "RI": "Rhode Island",
    "SC": "South Carolina",
    "SD": "South Dakota",
    "TN": "Tennessee",
    "TX": "Texas",
    "UT": "Utah",
    "VT": "Vermont",
    "VA": "Virginia",
    "WA": "Washington",
    "WV": "West Virginia",
    "WI": "Wisconsin",
    "WY": "Wyoming",
}
"""*Source*: United States Postal Service, Publication 28, appendix B: two-letter state codes."""


def state_name(state: str) -> str:
    """The name of a state that is given by its two postal letters; any other text as it is."""
    return STATE_BY_LETTERS.get(state.upper(), state)


def place_key(place: str) -> str:
    """What a state or region is looked up by in a table: the same for each way of writing it."""
    return spelling(state_name(place.strip()))


COUNTY = re.compile(r"\w+ (?:County|Co\.)", re.IGNORECASE)
"""A county, which may be called as some other state is: Delaware County, Iowa."""


STATE_NAME = re.compile(
    rf"\b(?:{'|'.join(sorted(STATE_BY_LETTERS.values(), key=len, reverse=True))})\b", re.IGNORECASE
)
STATE_LETTERS = re.compile(rf"\b(?:{'|'.join(STATE_BY_LETTERS)})\b")
"""Capitals alone, or "in" would be Indiana."""


def state_in(text: str) -> str | None:
    """The state that a text names, by name rather than by letters; None for none or several."""
    place = COUNTY.sub("", text)
    found = STATE_NAME.findall(place) or STATE_LETTERS.findall(place)
    keys = {place_key(name) for name in found}
    states = [state for state in STATE_BY_LETTERS.values() if place_key(state) in keys]
    return states[0] if len(states) == 1 else None
