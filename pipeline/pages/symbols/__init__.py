"""One table of symbols: what each layer looks like on screen, on paper and in other programs."""
