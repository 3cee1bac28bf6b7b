"""What a log's long form amounts to, by quantity and treatment."""

from reportgen.importing.summaries.summing import summary

__all__ = ["summary"]
