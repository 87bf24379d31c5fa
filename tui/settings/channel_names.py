"""The channels that a log can bring, and in which units they are kept inside."""

NUMERIC_CHANNELS: dict[str, str] = {
    "cell_pressure": "kPa",
    "back_pressure": "kPa",
    "pore_pressure": "kPa",
    "back_volume": "ml",
    "cell_volume": "ml",
    "axial_displacement": "mm",
    "axial_load": "N",
    "temperature": "degC",
}
"""Every channel that holds numbers, with its internal unit."""

TEXT_CHANNELS = ("phase", "drainage")
"""Channels that hold words."""
