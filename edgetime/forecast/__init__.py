"""What a pipeline of jobs takes out of the tools, and what to order by when.

:func:`read_pipeline` reads the jobs, :func:`wear_rates` calculates what a unit of each takes
out of each tool, :func:`forecast_use` what follows for stock and orders.
"""

from edgetime.forecast.calendar import WorkCalendar
from edgetime.forecast.demand import Demand
from edgetime.forecast.from_ledger import Books, read_books
from edgetime.forecast.pipeline import Pipeline, read_pipeline
from edgetime.forecast.pipeline_forecast import forecast_use
from edgetime.forecast.records import (
    Arrival,
    Cost,
    Forecast,
    OrderLine,
    PostedJob,
    Requirement,
    Stock,
    SupplierOrder,
    ToolForecast,
    Use,
    WeekUse,
)
from edgetime.forecast.run_out import OrderPolicy
from edgetime.forecast.supply import Supply
from edgetime.forecast.use_per_job import MetreWear, Rates, metre_wear, wear_rates

__all__ = [
    "Arrival",
    "Books",
    "Cost",
    "Demand",
    "Forecast",
    "MetreWear",
    "OrderLine",
    "OrderPolicy",
    "Pipeline",
    "PostedJob",
    "Rates",
    "Requirement",
    "Stock",
    "SupplierOrder",
    "Supply",
    "ToolForecast",
    "Use",
    "WeekUse",
    "WorkCalendar",
    "forecast_use",
    "metre_wear",
    "read_books",
    "read_pipeline",
    "wear_rates",
]
