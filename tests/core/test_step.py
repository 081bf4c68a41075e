"""A step is its signature: layers by the name of a parameter, settings by its annotation."""

from pipeline.core.section import Section
from pipeline.core.step import Step


class Fields(Section):
    """[fields]"""

    share_pct: float = 50.0


class Crew(Section):
    """[crew]"""

    people: int = 4


def plan_work(acres, log, fields: Fields, crew: Crew):
    return acres * fields.share_pct / 100 / crew.people, log


def test_layers_and_sections_come_from_the_signature():
    step = Step("work", plan_work)
    assert step.reads == ("acres", "log")
    assert step.sections == {"fields": Fields, "crew": Crew}


def test_each_parameter_gets_what_it_names():
    settings = {Fields: Fields(share_pct=25), Crew: Crew(people=2)}
    frames = {"acres": 80, "log": "read", "more": "not asked for"}
    assert Step("work", plan_work).compute(frames, settings) == (10, "read")


def test_step_without_settings_takes_layers_alone():
    assert Step("sum", lambda one, other: one + other).compute({"one": 1, "other": 2}, {}) == 3


def test_step_has_work_where_any_layer_that_it_works_of_has_a_row():
    step = Step("sum", lambda one, other: one + other, of=("one", "other"))
    assert step.has_work({"one": [], "other": [1]})
    assert not step.has_work({"one": [], "other": [], "more": [1]})
    assert Step("sum", lambda one: one).has_work({"one": []})
