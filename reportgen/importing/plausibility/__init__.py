"""Errors that no reader of a spreadsheet sees and every figure shows: each kind a check of its own."""

from reportgen.importing.plausibility.flagging import confirmed, flags

__all__ = ["confirmed", "flags"]
