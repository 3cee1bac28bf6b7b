"""Errors that no reader of a spreadsheet sees and every figure shows: each kind a check of its own."""

from reportgen.importing.plausibility.flagging import confirmed, flags, is_confirmed

__all__ = ["confirmed", "flags", "is_confirmed"]
