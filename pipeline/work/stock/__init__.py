"""The herd in the season's plan: days on which units are closed, feed that is left, clashes."""
