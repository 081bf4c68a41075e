"""Every setting at both ends of its range: a run finishes, or the property file is refused.

A few settings of a section are set together, so that the whole list takes seconds.
"""

import math
import tomllib
from typing import get_args

import pytest
from annotated_types import Ge, Gt, Le, Lt
from pydantic import ValidationError

from pipeline.catalog import PropertyFile, chosen_settings, settings_sections
from pipeline.faults import source_faults
from pipeline.runner import compute_layers, read_property, step_layer
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


TOGETHER = 5


def groups():
    """Name of a section, and the ends of a few of its settings: all low or all high."""
    for section, made_of in settings_sections().items():
        for side in (0, 1):
            told = {n: ends(f)[side] for n, f in made_of.model_fields.items() if ends(f)}
            for first in range(0, len(told), TOGETHER):
                yield section, dict(list(told.items())[first : first + TOGETHER])


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    """What the small property file says, what its sources gave, and what a run made of it."""
    path = write_small_property(tmp_path_factory.mktemp("small"))
    told, intake = read_property(path)
    frames = compute_layers(intake, told, lambda *progress: None)
    return tomllib.loads(path.read_text()), intake, frames


def accepted(said, section, values):
    """The property file with as many of the values as it takes together."""
    told = PropertyFile.model_validate(said)
    taken = dict(said.get(section, {}))
    for name, value in values.items():
        try:
            told = PropertyFile.model_validate(said | {section: taken | {name: value}})
        except ValidationError:
            continue  # said in one line by the reader of the property file, to both commands
        taken[name] = value
    return told


def run_again(intake, frames, told, section):
    """The steps that take a section, and those that what they write has changed for."""
    made, changed, settings = dict(frames), set(), chosen_settings(told)
    for step in STEPS:
        if section in step.sections.values() or changed & set(step.reads):
            made[step.writes] = step_layer(step, made, settings, intake.crs)
            if not made[step.writes].equals(frames[step.writes]):
                changed.add(step.writes)
    return made


@pytest.mark.parametrize(("section", "values"), list(groups()), ids=lambda part: str(part)[:60])
def test_run_with_settings_at_the_ends_of_their_ranges(section, values, small):
    said, intake, frames = small
    told = accepted(said, section, values)
    if not source_faults(intake.frames, told):
        made = run_again(intake, frames, told, settings_sections()[section])
        assert set(made) == set(frames)
