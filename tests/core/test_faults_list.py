"""The list of deliberate faults fits the code that it speaks of."""

from collections import Counter

from tests.mutate import PROJECT, all_faults

FAULTS = all_faults()


def test_each_fault_can_be_put_in_at_one_place_and_has_its_tests():
    for fault in FAULTS:
        told = f"{fault.subject}: {fault.what}"
        assert (PROJECT / fault.file).read_text(encoding="utf-8").count(fault.find) == 1, told
        assert fault.put != fault.find, told
        assert all((PROJECT / test.split("::")[0]).exists() for test in fault.tests), told


def test_every_subject_has_faults():
    count = Counter(fault.subject for fault in FAULTS)
    assert sum(count.values()) >= 60
    assert set(count) >= {"fire", "seed", "greenness", "season", "intake", "pages", "core"}
