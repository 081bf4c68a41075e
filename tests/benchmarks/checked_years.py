"""Plans of years on made properties, each held to its rules by the checker that stands apart.

Run it with a number of properties, `python -m tests.benchmarks.checked_years 200`; a second number
is that of the first one.
"""

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tests.ahead.made_maps import mapped_property
from tests.ahead.made_years import written
from tests.ahead.plan_checker import broken_rules


def pairs_of(tables):
    """Units along one edge, as the plan has them."""
    both = tables["plan_edges"].dropna(subset=["neighbor"])
    return {frozenset(pair) for pair in zip(both["unit_id"], both["neighbor"], strict=True)}


def main(words):
    count = int(words[0]) if words else 200
    first = int(words[1]) if len(words) > 1 else 0
    before, counted = time.process_time(), Counter()
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            tables, beside = mapped_property(seed)
            broken = broken_rules(written(tables, Path(folder) / f"{seed}.gpkg"))
            if pairs_of(tables) != beside:
                broken.append("other units lie along one edge than on the map")
            settings = tables["settings"].set_index("setting")["value"]
            counted["broken"] += bool(broken)
            counted[f"refuge {settings['refuge']}"] += 1
            counted["rows"] += len(tables["plan_years"])
            counted["fixed rows"] += int((tables["plan_years"]["reason"] == "fixed").sum())
            for line in broken:
                print(f"property {seed}: {line}", flush=True)
    seconds = time.process_time() - before
    print(f"{count} properties, {seconds:.0f} s: {dict(counted)}")


if __name__ == "__main__":
    main(sys.argv[1:])
