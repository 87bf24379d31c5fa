"""The headless picture: what every cell is doing, folded from its readings."""
