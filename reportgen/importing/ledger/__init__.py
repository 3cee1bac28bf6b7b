"""Stage 8: the fate of every number, and what changed since the settings were written."""

from reportgen.importing.ledger.accounts import ledger
from reportgen.importing.ledger.drift import against_confirmed, drift
from reportgen.importing.ledger.statistics import disagreements

__all__ = ["against_confirmed", "disagreements", "drift", "ledger"]
