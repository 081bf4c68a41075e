"""What must be read first: each message once, nothing a permission."""

import pandas as pd
import pytest

from pipeline.pages.cautions import CAUTION, CAUTIONS, subjects_by_message
from pipeline.pages.packet.seed_page import SEED_CAUTIONS


def test_marks_that_turn_the_text_are_left_out():
    rows = [{"subject": "\u202eU1", "message": "a\u0007b"}, {"subject": None, "message": "c"}]
    assert subjects_by_message(rows) == {"a b": ["U1"], "c": []}
    assert subjects_by_message(pd.DataFrame(rows).iloc[:0].to_dict("records")) == {}


@pytest.mark.parametrize("caution", [*CAUTIONS, *SEED_CAUTIONS])
def test_no_caution_reads_as_a_permission(caution):
    assert "no permission to ignite" in CAUTION
    for phrase in ("approved", "safe to", "go ahead", "may be lit", "ready to burn", "cleared to"):
        assert phrase not in caution.lower()
