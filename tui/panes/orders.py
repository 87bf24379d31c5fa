"""The orders in which lanes can stand."""

ORDERS = {
    "bench": "",
    "urgency": "most urgent first",
    "hands": "next hands first",
}
"""Orders that a key goes round, with what the heading of the wall says of each."""
