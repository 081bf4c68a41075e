"""Every setting at both ends of its range: a run finishes, or the property file is refused."""

import math
import tomllib
from typing import get_args

import pytest
from annotated_types import Ge, Gt, Le, Lt
from pydantic import ValidationError

from pipeline.catalog import LAYERS, PropertyFile, settings_sections
from pipeline.core.layer import conform
from pipeline.faults import source_faults
from pipeline.runner import compute_layers, read_property
from pipeline.steps import STEPS
from tests.small_property import write_small_property

FAR = 10**12


def ends(field):
    """Lowest and highest number that a setting takes; a far one where none is declared."""
    kinds = {field.annotation, *get_args(field.annotation)}
    if bool in kinds or not kinds & {int, float}:
        return ()
    bound = {type(b): getattr(b, type(b).__name__.lower()) for b in field.metadata}
    step = (lambda x, d: x + d) if int in kinds else (lambda x, d: math.nextafter(x, d * math.inf))
    low = bound[Ge] if Ge in bound else step(bound[Gt], 1) if Gt in bound else -FAR
    high = bound[Le] if Le in bound else step(bound[Lt], -1) if Lt in bound else FAR
    return low, high


CASES = [
    (section, name, value)
    for section, made_of in settings_sections().items()
    for name, field in made_of.model_fields.items()
    for value in ends(field)
]


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """What the small property file says, what its sources gave, and what a run made of it."""
    path = write_small_property(tmp_path_factory.mktemp("small"))
    told, intake = read_property(path)
    frames = compute_layers(intake, told, lambda *progress: None)
    return tomllib.loads(path.read_text()), intake, frames


def run_again(intake, frames, told, section):
    """The steps that take a section, and those that what they write has changed for."""
    made = dict(frames)
    changed = set()
    for step in STEPS:
        if step.settings == section or changed & set(step.reads):
            arguments = [made[name] for name in step.reads]
            if step.settings:
                arguments.append(getattr(told, step.settings))
            layer = LAYERS[step.writes]
            crs = intake.crs if layer.geometry else None
            made[step.writes] = conform(step.function(*arguments), layer, crs)
            if not made[step.writes].equals(frames[step.writes]):
                changed.add(step.writes)
    return made


@pytest.mark.parametrize(("section", "name", "value"), CASES)
def test_run_with_a_setting_at_the_end_of_its_range(section, name, value, small):
    said, intake, frames = small
    try:
        told = PropertyFile.model_validate(said | {section: said.get(section, {}) | {name: value}})
    except ValidationError:
        return  # said in one line by the reader of the property file, to both commands
    if not source_faults(intake.frames, told):
        assert set(run_again(intake, frames, told, section)) == set(frames)
