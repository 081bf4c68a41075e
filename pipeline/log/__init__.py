"""The treatment log: what was done where and when, read in one way by every subject."""
