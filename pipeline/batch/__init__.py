"""Many properties, and one property over its years: what lies above a single run."""
