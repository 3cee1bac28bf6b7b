"""Wording, rounding, and the order of a report."""

from reportgen.report.compose import collect, compose

__all__ = ["collect", "compose"]
