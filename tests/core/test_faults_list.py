"""The list of deliberate faults fits the code that it speaks of."""

from collections import Counter

import pytest

from tests.mutate import PROJECT, all_faults

FAULTS = all_faults()


@pytest.mark.parametrize("fault", FAULTS, ids=lambda f: f"{f.subject}: {f.what}")
def test_fault_can_be_put_in(fault):
    assert (PROJECT / fault.file).read_text(encoding="utf-8").count(fault.find) == 1
    assert fault.put != fault.find
    assert all((PROJECT / test.split("::")[0]).exists() for test in fault.tests)


def test_every_subject_has_faults():
    count = Counter(fault.subject for fault in FAULTS)
    assert sum(count.values()) >= 60
    assert set(count) >= {"fire", "seed", "greenness", "season", "intake", "pages", "core"}
