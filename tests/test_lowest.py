"""The lowest versions that are tested are those that pyproject.toml allows."""

import importlib.util
import tomllib
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.requirements import Requirement

PROJECT = Path(__file__).parent.parent
TOLD = tomllib.loads((PROJECT / "pyproject.toml").read_text("utf-8"))["project"]
EXTRAS = TOLD["optional-dependencies"]

place = importlib.util.spec_from_file_location("lowest", PROJECT / ".ci" / "lowest.py")
script = importlib.util.module_from_spec(place)
place.loader.exec_module(script)


def test_every_dependency_of_the_program_and_its_tests_is_held():
    assert script.requirements() == [*TOLD["dependencies"], *EXTRAS["pdf"], *EXTRAS["test"]]


# PEP 440, version specifiers, and PEP 508, names, as the library `packaging` reads them.
@pytest.mark.parametrize("requirement", script.requirements())
def test_held_to_exactly_one_version_that_is_allowed(requirement):
    asked, held = Requirement(requirement), Requirement(script.lowest(requirement))
    (only,) = held.specifier
    assert only.operator == "=="
    assert held.name == asked.name
    assert asked.specifier.contains(only.version)
    assert {bound.version for bound in asked.specifier if bound.operator in (">=", "==")} == {
        only.version
    }
    assert asked.specifier.contains(version(asked.name)), "what is installed is allowed"


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", ".ci/run"])
def test_the_same_files_to_read_from_are_installed_everywhere(name):
    assert f"--no-deps {' '.join(script.ONLY_UNPACKED)}" in (PROJECT / name).read_text("utf-8")
