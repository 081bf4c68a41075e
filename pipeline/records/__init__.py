"""The record book: everything that was logged comes out again, for those who may ask for it."""
