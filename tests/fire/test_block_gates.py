"""Gates of the blocks: sound maps pass all of them, a broken model refuses its block alone."""

import numpy as np
import pandas as pd
import pytest
import shapely

from pipeline.catalog import LAYERS
from pipeline.core.layer import conform, empty
from pipeline.core.units import M2_PER_AC
from pipeline.fire import block_gates, block_model, stretches
from pipeline.ground import edge_graph
from tests import made_fire, made_unit_maps
from tests import made_properties as made

FIGURES = ["burnable_ac", "break_ac", "perimeter_ft", "existing_ft", "gap_ft", "prepare_ft"]


def layers_of(shapes, block_of, **choices):
    names = [f"U{number}" for number in range(len(shapes))]
    burns = made.burns_frame({names[number]: block for number, block in block_of.items()})
    return made_fire.fire_layers(made.units_frame(shapes, names), burns, **choices)


def edges_of(units, settings=None):
    edges = edge_graph.draw_edges(
        units, made.exclusions_frame(), settings or made.AcreageSettings()
    )
    return conform(edges, LAYERS["edges"], made.CRS)


def refused(layers):
    rows = layers["firebreak_findings"]
    return sorted(rows.loc[rows["code"] == "block_refused", "subject"])


@pytest.mark.parametrize("slop_m", [0.0, 2.0, 5.0, 12.0])
@pytest.mark.parametrize("kind", made_unit_maps.KINDS)
def test_sound_maps_pass_every_gate(kind, slop_m):
    random = np.random.default_rng(5)
    cells = made_unit_maps.KINDS[kind]
    shapes = np.array([made_unit_maps.redrawn(cell, slop_m, random) for cell in cells])
    if not slop_m:
        shapes = made_unit_maps.in_system(cells, 26914)
    units = made.units_frame(shapes)
    blocks = [f"B{n}" for n in random.integers(0, 4, len(shapes))]
    burns = made.burns_frame(dict(zip(units["unit_id"], blocks, strict=True)))
    settings = made.AcreageSettings(slop_ft=min(65.0, max(16.0, made.feet(1.5 * slop_m + 0.5))))
    edges = edges_of(units, settings)
    refusals = block_gates.check_ground(units, made.exclusions_frame(), edges, burns, settings)
    assert refusals.empty
    no_credits = empty(LAYERS["break_credits"])
    found = made.trace_stretches(
        edges, made.breaks_frame(), no_credits, burns, made.FirebreakSettings()
    )
    assert block_gates.check_edges(edges, burns, found).empty


def test_exclusion_and_in_holding_are_no_loss_of_ground():
    (square,) = made.grid(1, 1)
    held, pond = shapely.box(100, 100, 200, 200), shapely.box(-50, 250, 150, 300)
    found = layers_of([square, held], {0: "a"}, exclusions=made.exclusions_frame([pond]))
    assert refused(found) == []


def test_unit_that_loses_its_ground_refuses_its_block_and_no_other(monkeypatch):
    # The edge graph is broken on purpose: the face of the second square goes to nobody.
    whole = edge_graph.owners_of

    def losing(*given):
        owner = whole(*given)
        return np.where(owner == 1, -1, owner)

    monkeypatch.setattr(edge_graph, "owners_of", losing)
    found = layers_of(made.grid(3, 1), {0: "a", 1: "b", 2: "c"})
    assert refused(found) == ["b"]
    blocks = found["burn_blocks"].set_index("block")
    assert blocks.loc["b", FIGURES].isna().all()
    assert blocks.loc["b", "gross_ac"] == pytest.approx(40, rel=1e-4)
    assert blocks.loc[["a", "c"], "perimeter_ft"].to_numpy() == pytest.approx([5280] * 2, abs=0.1)
    for name in ("firebreaks", "mow_strips"):
        assert "b" not in set(found[name]["block"])
    (message,) = found["firebreak_findings"].query("code == 'block_refused'")["message"]
    assert "unit U1 has 0.00 ac within its edges, expected 40.00 ac" in message


def test_unit_that_loses_its_ground_is_named_if_it_does_not_burn_too(monkeypatch):
    whole = edge_graph.owners_of

    def losing(*given):
        owner = whole(*given)
        return np.where(owner == 1, -1, owner)

    monkeypatch.setattr(edge_graph, "owners_of", losing)
    found = layers_of(made.grid(3, 1), {0: "a"})
    assert refused(found) == []
    lost = found["firebreak_findings"].query("code == 'unit_ground_lost'")
    assert lost["subject"].tolist() == ["U1"]
    assert (
        lost["message"].iloc[0].startswith("within the unit's edges are 0.00 ac, expected 40.00 ac")
    )


def test_block_that_is_not_the_sum_of_its_units_is_refused(monkeypatch):
    # The ground of a block is broken on purpose: its first piece is left out.
    whole = block_model.grounds_of

    def losing(plane, rings):
        grounds = whole(plane, rings).items()
        return {label: shapely.MultiPolygon(list(ground.geoms)[1:]) for label, ground in grounds}

    monkeypatch.setattr(block_model, "grounds_of", losing)
    found = layers_of(made.grid(2, 2), {0: "a", 3: "a"})
    assert refused(found) == ["a"]
    assert found["firebreaks"].empty


def test_block_whose_stretches_do_not_close_is_refused(monkeypatch):
    # The cutting of lines is broken on purpose: the last piece of every line is lost.
    whole = stretches._cut
    monkeypatch.setattr(stretches, "_cut", lambda *given: whole(*given)[:-1])
    found = layers_of(made.grid(2, 1), {0: "a"})
    assert refused(found) == ["a"]
    assert found["burn_blocks"][FIGURES].isna().all(axis=None)


def test_block_refused_by_its_stretches_leaves_lines_and_strips_to_the_others_alone(monkeypatch):
    # The cutting of one block's lines is broken on purpose: all but its edge with b.
    whole = stretches.credit_lines

    def losing(lines, *given):
        pieces = whole(lines, *given)
        west = [shapely.bounds(line)[0] < 1 for line in lines]
        return [[] if lost else kept for lost, kept in zip(west, pieces, strict=True)]

    monkeypatch.setattr(stretches, "credit_lines", losing)
    found = layers_of(made.grid(2, 1), {0: "a", 1: "b"})
    assert refused(found) == ["a"]
    for name in ("stretches", "firebreaks", "strip_shapes", "mow_strips", "mow_passes"):
        assert set(found[name]["block"]) == {"b"}
    assert found["firebreaks"]["neighbor_block"].isna().all()
    assert "a" not in set(found["tie_ins"]["block"])
    # The neighbor's edges are four sides of 40 acres, 1,320 ft each.
    blocks = found["burn_blocks"].set_index("block")
    assert blocks.loc["b", "perimeter_ft"] == pytest.approx(5280, abs=0.1)
    assert blocks.loc["a", FIGURES].isna().all()


def test_unit_may_lose_what_another_one_covers_and_no_more():
    # 40 acres, 10 of them covered by a smaller unit: what is kept is 30.
    square = made.grid(1, 1)[0]
    side = made.QUARTER_M
    quarter = shapely.box(0, 0, side / 2, side / 2)
    units = made.units_frame([square, quarter], ["large", "small"])
    kept = block_gates.kept_ground(
        units, made.exclusions_frame().geometry,
        edges_of(units), 5.0,
    )  # fmt: skip
    assert kept.kept_m2 / M2_PER_AC == pytest.approx([30, 10], rel=1e-4)
    assert kept.is_kept.all()
    # 0.1 % of 40 acres, 5 cm along 1,609 m, and the 10 acres.
    assert kept.allowed_m2[0] == pytest.approx(
        0.001 * side**2 + 0.05 * 4 * side + side**2 / 4, rel=1e-6
    )


def test_no_burns_are_refused_nothing():
    empty = made.burns_frame({})
    units = made.units_frame(made.grid(1, 1))
    edges = edges_of(units)
    refusals = block_gates.check_ground(
        units, made.exclusions_frame(), edges, empty, made.AcreageSettings()
    )
    assert isinstance(refusals, pd.DataFrame)
    assert refusals.empty
