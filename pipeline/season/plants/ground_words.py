"""What a plant table lists beside its plants: litter, bare ground, stone and water."""

import pandas as pd

from pipeline.core.names import folded

WORDS_BY_GROUND = {
    "litter": (
        "litter;plant litter;thatch;duff;mulch;dead grass;dead plants;dead material;standing dead;"
        "residue"
    ),
    "bare": "bare;bare ground;bare soil;bare dirt;soil;exposed soil;dirt;mineral soil",
    "other_ground": (
        "rock;rocks;stone;stones;gravel;water;open water;dung;manure;cow pie;wood;dead wood;moss;"
        "mosses;lichen;lichens;soil crust;biological crust;cryptogam;cryptogams"
    ),
}
"""Words of ground cover, each taken whole. *Source*: the classes of ground cover of BLM Technical
Reference 1734-4 (1996, revised 1999), bare ground, litter, rock, gravel and cryptogams, from
memory; the spellings are common practice, no source."""


GROUND = tuple(WORDS_BY_GROUND)
"""Codes of what is no plant."""


GROUND_BY_KEY = {
    folded(word): ground for ground, words in WORDS_BY_GROUND.items() for word in words.split(";")
}


def ground_of(names: pd.Series) -> pd.Series:
    """Code of the ground that each name stands for; missing where it is the name of a plant."""
    return names.map({n: GROUND_BY_KEY.get(folded(str(n))) for n in names.unique()}).astype(object)
