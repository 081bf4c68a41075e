"""Ten seasons of the made property, run and joined once; and the browser that looks at pages."""

import pytest

from pipeline.cli import main
from tests.pages.conftest import axe, browser  # noqa: F401
from tests.years.made_years import write_ten_seasons


@pytest.fixture(scope="session")
def ten_seasons(shared, tmp_path_factory):
    """Folder of ten GeoPackages with their years beside them, written by the command."""

    def joined():
        folder = tmp_path_factory.mktemp("ten")
        write_ten_seasons(folder)
        assert main(["years", str(folder), "--quiet"]) == 0
        return folder

    return shared("ten_seasons", joined)
