"""Errors that no reader of a spreadsheet sees and every figure shows: each kind a check of its own."""

from reportgen.importing.plausibility.flagging import flags

__all__ = ["flags"]
