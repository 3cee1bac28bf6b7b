"""Turn the workbook of a side-by-side growing trial into an honest web page and PDF."""

__version__ = "0.1.0"
