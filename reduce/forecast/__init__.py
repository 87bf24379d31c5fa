"""Forecasts: when a phase meets its criterion, with an interval that is meant."""

from reduce.forecast.consolidation import ConsolidationForecast, consolidation
from reduce.forecast.endings import Ending, ending
from reduce.forecast.outcome import CONFIDENCE, Forecast
from reduce.forecast.saturation import SaturationForecast, saturation
from reduce.forecast.shear import shear
from reduce.forecast.thinning import thin_log

__all__ = [
    "CONFIDENCE",
    "ConsolidationForecast",
    "Ending",
    "Forecast",
    "SaturationForecast",
    "consolidation",
    "ending",
    "saturation",
    "shear",
    "thin_log",
]
