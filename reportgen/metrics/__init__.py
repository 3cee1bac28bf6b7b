"""Growing: what a trial's tray totals amount to."""

from reportgen.metrics.compute import compute

__all__ = ["compute"]
