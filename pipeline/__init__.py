"""Swardline: from a property file to acres, firebreaks, seed orders and burn answers.

Light on purpose: nothing is imported here, so that ``swardline --help`` stays quick.
"""

__version__ = "0.1.0"
