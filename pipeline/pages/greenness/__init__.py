"""How the report answers whether a fire did it: sentences, charts and a card for each burn."""
