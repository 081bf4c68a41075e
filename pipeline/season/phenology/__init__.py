"""Days on which plants green and bloom, as somebody saw them."""
