"""What a job costs, from its drawing or from a list of lengths."""

from edgetime.price.inquiry import Inquiry, read_inquiry
from edgetime.price.listing import PriceList, price_list
from edgetime.price.price_lengths import price_lengths
from edgetime.price.price_load import price_load, price_loads
from edgetime.price.quote import Quote

__all__ = [
    "Inquiry",
    "PriceList",
    "Quote",
    "price_lengths",
    "price_list",
    "price_load",
    "price_loads",
    "read_inquiry",
]
