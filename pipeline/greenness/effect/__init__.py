"""What a burn did to greenness: one estimator, what it is given, and what else may explain it."""
