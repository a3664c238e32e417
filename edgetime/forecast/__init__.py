"""What a pipeline of jobs takes out of the tools, and what to order by when.

:func:`read_pipeline` reads the jobs, :func:`wear_rates` says what a unit of each takes out
of each tool, :func:`forecast_use` what follows for stock and orders.
"""

from edgetime.forecast.compute import forecast_use
from edgetime.forecast.demand import Work
from edgetime.forecast.lives import LifeLaw, Supply
from edgetime.forecast.model import (
    Forecast,
    Job,
    OrderLine,
    Pipeline,
    Stock,
    SupplierOrder,
    ToolForecast,
    Use,
    WeekUse,
)
from edgetime.forecast.rates import MetreWear, Rates, metre_wear, wear_rates
from edgetime.forecast.reading import read_pipeline

__all__ = [
    "Forecast",
    "Job",
    "LifeLaw",
    "MetreWear",
    "OrderLine",
    "Pipeline",
    "Rates",
    "Stock",
    "SupplierOrder",
    "Supply",
    "ToolForecast",
    "Use",
    "WeekUse",
    "Work",
    "forecast_use",
    "metre_wear",
    "read_pipeline",
    "wear_rates",
]
