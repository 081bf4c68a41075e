"""Groups of units of which not all may burn in one year: refuge, or no touching at all."""

from itertools import combinations

import numpy as np
import pandas as pd

from pipeline.ahead.search.problem import Array


def groups_of_units(
    names: list[str], edges: pd.DataFrame, refuge: str, burning: Array
) -> tuple[str, tuple[Array, ...], Array]:
    """Code of the rule, members of each group, and how many of them may burn in each year.

    neighbor: a unit and all along its edge, of which one stays unburned. apart: units that
    all touch one another, of which one burns. ``burning`` are burns that are settled: in its year
    a group holds at least those.
    """
    beside = _beside(edges)
    number = {name: n for n, name in enumerate(names)}
    if refuge == "neighbor":
        found = [
            [number[name], *sorted(number[other] for other in beside[name])]
            for name in names
            if beside.get(name)
        ]
        most = [len(members) - 1 for members in found]
        code = "refuge"
    elif refuge == "apart":
        found = [sorted(number[name] for name in clique) for clique in _cliques(beside, set(names))]
        most = [1] * len(found)
        code = "apart"
    else:
        return "refuge", (), np.zeros((0, burning.shape[1]), dtype=int)
    groups = tuple(np.array(members, dtype=int) for members in found)
    settled = np.array([burning[members].sum(axis=0) for members in groups], dtype=int)
    settled = settled.reshape(len(groups), burning.shape[1])
    return code, groups, np.maximum(np.array(most, dtype=int)[:, None], settled)


def _beside(edges: pd.DataFrame) -> dict[str, set[str]]:
    """Units along the edge of each unit."""
    beside: dict[str, set[str]] = {}
    both = edges.dropna(subset=["neighbor"])
    for one, other in zip(both["unit_id"], both["neighbor"], strict=True):
        beside.setdefault(one, set()).add(other)
        beside.setdefault(other, set()).add(one)
    return beside


def _cliques(beside: dict[str, set[str]], names: set[str]) -> list[tuple[str, ...]]:
    """Triangles of units that all touch, and pairs that are in none."""
    pairs = sorted(
        (one, other)
        for one, others in beside.items()
        for other in others
        if one < other and {one, other} <= names
    )
    triangles = {
        tuple(sorted((one, other, third)))
        for one, other in pairs
        for third in beside[one] & beside[other] & names
    }
    held = {pair for triangle in triangles for pair in combinations(triangle, 2)}
    return [*sorted(triangles), *(pair for pair in pairs if pair not in held)]
