"""The season: fuel, herd, history, plants, and what each unit may get next."""
