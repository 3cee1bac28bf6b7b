"""The trial workbook: its declaration, reading and checking."""

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from reportgen.workbook.cells import Workbook, read
    from reportgen.workbook.checking import Outlook, check, light_survey, outlook, problems_in

__all__ = ["Outlook", "Workbook", "check", "light_survey", "outlook", "problems_in", "read"]

OF_CELLS: Final = frozenset(("Workbook", "read"))


def __getattr__(name: str) -> Any:
    """Load what is asked for first: a build of what did not change reads no workbook (PEP 562)."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    if name in OF_CELLS:
        module = import_module("reportgen.workbook.cells")
    else:
        module = import_module("reportgen.workbook.checking")
    return getattr(module, name)
