"""The night watch without a screen: what the picture says is journalled, and people are told."""
