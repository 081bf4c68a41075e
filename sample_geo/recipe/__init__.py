"""How the sample property is made up: its ground, its pictures, its records."""
