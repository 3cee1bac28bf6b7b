"""Figures with their titles, their captions and the texts that say what they show.

A subject a file.
"""

from reportgen.report.figures.changes import chains, changes
from reportgen.report.figures.costs import by_key, cost_against_price, cost_parts, is_cost_clear
from reportgen.report.figures.factors import interaction, response
from reportgen.report.figures.over_time import (
    climate,
    cumulative_yields,
    energy,
    growth_curve,
    solution,
)
from reportgen.report.figures.places import layout, light_map
from reportgen.report.figures.residuals import residuals
from reportgen.report.figures.trays import plants, tray_dots

__all__ = [
    "by_key",
    "chains",
    "changes",
    "climate",
    "cost_against_price",
    "cost_parts",
    "cumulative_yields",
    "energy",
    "growth_curve",
    "interaction",
    "is_cost_clear",
    "layout",
    "light_map",
    "plants",
    "residuals",
    "response",
    "solution",
    "tray_dots",
]
