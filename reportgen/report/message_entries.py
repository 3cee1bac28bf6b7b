"""Findings and notes as entries of the results file."""

from collections.abc import Iterable

from reportgen.model.message import Message, Notes
from reportgen.model.trial import Trial
from reportgen.report import message_data, messages
from reportgen.report.result_parts import MessageEntry


def codes_of(methods: Notes) -> tuple[str, ...]:
    """Return the codes of messages."""
    return tuple(method.code for method in methods)


def entries_of(trial: Trial, found: Iterable[Message]) -> tuple[MessageEntry, ...]:
    """Return messages as entries of the results file."""
    return tuple(
        MessageEntry(**message_data.entry(one, messages.text(trial, one))) for one in found
    )
