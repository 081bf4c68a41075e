"""The road of recovery: where each unit stands, what moved it there, what would move it on."""
