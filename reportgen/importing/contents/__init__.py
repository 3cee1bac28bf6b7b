"""Stage 5, what is measured: the value columns of a table, of what quantity and in what unit each."""

from reportgen.importing.contents.candidates import contents

__all__ = ["contents"]
