"""Stage 4: what speaks for the meaning of labels and values, one small function a kind of evidence."""

from reportgen.importing.clues.dimensions import dimension_claims

__all__ = ["dimension_claims"]
