"""One whole test: its stages one after the other, their uncertainty, and what to question."""
