"""Documents as workbooks for a spreadsheet program."""

from edgetime.workbook.write import workbook_bytes

__all__ = ["workbook_bytes"]
