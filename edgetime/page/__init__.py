"""A load as one page for a browser: plan, replay, timeline, tables, findings."""

from edgetime.page.load_page import load_page

__all__ = ["load_page"]
