"""A dozen kills at random moments; ``python -m tests.hostile.kills`` tries hundreds."""

from tests.hostile.kills import killed


def test_killed_at_random_moments_the_former_or_the_new_run_stands_whole(tmp_path):
    found, fell = killed(tmp_path, 12, seed=3, look_every=12)
    assert not found
    assert fell
