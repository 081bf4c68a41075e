"""Made conflicts of planned work, and a run whose plan has them."""

from pipeline import runner, steps
from pipeline.catalog import LAYERS
from pipeline.core.layer import empty
from pipeline.core.step import Step
from tests.literal_layers import literal_layer

WORDS = {
    "stop_and_ask": "the words of the agency hold from 05-01 to 07-15",
    "think_again": "the widths of two breaks are short",
    "know": "stock comes back in August",
}


def conflict(number, seriousness="stop_and_ask", **cells):
    """A conflict of a burn of block ``Block``, or of what the cells say."""
    burn = {"kind": "burn", "block": "Block", "work_id": "burn:Block"}
    return {
        "number": number,
        "seriousness": seriousness,
        "code": "species_limit",
        "against": WORDS[seriousness],
        "who_decides": "wildlife_agency",
        "resolve": "ask in writing",
        "source": "made",
        **({} if "kind" in cells else burn),
        **cells,
    }


def seeding(number, seriousness="stop_and_ask", **cells):
    """A conflict of the seeding ``Area``."""
    place = {"kind": "seed", "area": "Area", "work_id": "seed:Area", "who_decides": "seed_dealer"}
    return conflict(number, seriousness, **(place | cells))


def grazing(number, seriousness="stop_and_ask", **cells):
    """A conflict of grazing on unit ``U1``, which belongs to no block and no area."""
    place = {"kind": "graze", "unit_id": "U1", "work_id": "graze:U1", "who_decides": "landowner"}
    return conflict(number, seriousness, **(place | cells))


def conflicts_layer(*rows, crs=None):
    """Layer ``conflicts`` of made rows, without places on the map."""
    return literal_layer("conflicts", rows, [None] * len(rows), crs)


def plan_with(monkeypatch, *rows):
    """Let every run of this test find these conflicts, of work that its plan does not have."""

    def judged(units):
        return conflicts_layer(*rows, crs=units.crs)

    def no_tasks(units):
        return empty(LAYERS["tasks"], units.crs)

    made = {"conflicts": Step("conflicts", judged), "tasks": Step("tasks", no_tasks)}
    table = tuple(made.get(step.writes, step) for step in steps.STEPS)
    monkeypatch.setattr(runner, "STEPS", table)
