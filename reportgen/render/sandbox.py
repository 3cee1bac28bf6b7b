"""Run templates so that one of a stranger's can neither run code, nor read or write a file, nor go
on for ever.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sized
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import is_dataclass
from datetime import date
from functools import wraps
from types import FunctionType
from typing import Any, Final, cast

from jinja2 import Undefined, nodes, pass_context
from jinja2.environment import TemplateModule
from jinja2.runtime import BlockReference, Context, LoopContext, Macro, TemplateReference
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.utils import Cycler, Joiner, Namespace
from jinja2.visitor import NodeTransformer
from markupsafe import Markup

from reportgen import direction

# turns of loops, calls and pieces of text in one page; a page of a sample takes 30,000
MOST_STEPS: Final = 2_000_000
STEP_OF_TEXT: Final = 64  # characters that count as one step
STEPS_OF_A_CALL: Final = 10
LARGEST: Final = 10_000_000  # characters or items of one value
LARGEST_NUMBER: Final = 100_000  # that may say how often, how wide or how long
LARGE_POWER: Final = 64
WIDE_FORMAT: Final = re.compile(
    r"\*|\d{6,}|:[^{}]*\{"
)  # a width that is very large, or given apart

# A template reads the fields of these, of dataclasses, and of nothing else: a chart or a table
# could write files.
READABLE: Final = (
    *(str, int, float, date, list, tuple, dict),
    *(
        LoopContext,
        Macro,
        TemplateReference,
        BlockReference,
        TemplateModule,
        Namespace,
        Cycler,
        Joiner,
        Undefined,
    ),
)
CALLABLE: Final = (Macro, BlockReference, LoopContext, Cycler, Joiner, Undefined)

_steps_left: ContextVar[list[int] | None] = ContextVar("steps left", default=None)


class TooMuch(Exception):
    """A template takes more than a page can need; the message says what."""


@contextmanager
def limited() -> Iterator[None]:
    """Count the steps of templates from here on, and end them where there are too many."""
    token = _steps_left.set([MOST_STEPS])
    try:
        yield
    finally:
        _steps_left.reset(token)


def spend(steps: int) -> None:
    """Count steps of a template. Raises TooMuch where none is left."""
    left = _steps_left.get()
    if left is None:
        return
    left[0] -= steps
    if left[0] < 0:
        raise TooMuch(f"the template goes on after {MOST_STEPS:,} steps")


class TemplateSandbox(ImmutableSandboxedEnvironment):
    """Jinja's sandbox, which also keeps templates from objects that write files, and from work
    without an end.
    """

    intercepted_binops = frozenset(("*", "**", "+", "%"))

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        del self.globals["lipsum"]  # which makes as much text as it is told
        self.filters.update({name: _guarded(function) for name, function in self.filters.items()})
        self.filters["counted"] = _counted
        self.filters["spent"] = _spent

    def is_safe_attribute(self, obj: Any, attr: str, value: Any) -> bool:
        """Return whether a template may read a field: a method of a dataclass it may not."""
        if not super().is_safe_attribute(obj, attr, value):
            return False
        if isinstance(obj, READABLE):
            return True
        return is_dataclass(obj) and not isinstance(obj, type) and not callable(value)

    def is_safe_callable(self, obj: Any) -> bool:
        """Return whether a template may call something: macros, methods of texts and lists, what it
        was given.
        """
        if not super().is_safe_callable(obj):
            return False
        if isinstance(obj, CALLABLE) or isinstance(getattr(obj, "__self__", None), READABLE):
            return True
        if any(obj is known for known in self.globals.values()):
            return True
        return isinstance(obj, FunctionType) and _is_given(obj)

    def call(self, context: Context, obj: Any, /, *args: Any, **kwargs: Any) -> Any:
        """Call what a template calls, within the limits. Raises TooMuch."""
        spend(STEPS_OF_A_CALL)
        own = getattr(obj, "__self__", None)
        if isinstance(own, READABLE):
            _refuse_large(own, (*args, *kwargs.values()))
        return super().call(context, obj, *args, **kwargs)

    def wrap_str_format(self, value: Any) -> Callable[..., str] | None:
        """Return the sandboxed form of `str.format`, which also refuses very wide formats."""
        sandboxed = super().wrap_str_format(value)
        if sandboxed is None:
            return None
        text = value.__self__

        def formatted(*args: Any, **kwargs: Any) -> str:
            _refuse_wide_format(text)
            return cast(str, _spent(sandboxed(*args, **kwargs)))

        return formatted

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        """Compute what a template computes, within the limits. Raises TooMuch."""
        _OPERATORS[operator](left, right)
        return super().call_binop(context, operator, left, right)

    def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
        tree = super()._parse(source, name, filename)
        _Counting().visit(tree)
        tree.set_environment(self)
        return tree


def _is_given(function: FunctionType) -> bool:
    """Return whether a function is one that the program gives its templates."""
    return function.__module__.split(".")[0] == __name__.split(".")[0]


class _Counting(NodeTransformer):
    """Have each turn of a loop counted, and each text that is put together of others."""

    def visit_For(self, loop: nodes.For) -> nodes.For:  # noqa: N802 - Jinja's name
        self.generic_visit(loop)
        texts = sum(len(text.data) for text in loop.find_all(nodes.TemplateData))
        weight = nodes.Const(1 + texts // STEP_OF_TEXT, lineno=loop.lineno)
        loop.iter = _filtered(cast(nodes.Expr, loop.iter), "counted", weight)
        return loop

    def visit_Concat(self, joined: nodes.Concat) -> nodes.Filter:  # noqa: N802 - Jinja's name
        self.generic_visit(joined)
        return _filtered(joined, "spent")


def _filtered(node: nodes.Expr, name: str, *arguments: nodes.Expr) -> nodes.Filter:
    return nodes.Filter(node, name, list(arguments), [], None, None, lineno=node.lineno)


def _counted(items: Iterable[object], weight: int) -> Iterator[object]:
    for item in items:
        spend(weight)
        yield item


def _spent(value: Any) -> Any:
    """Return a value of a template, and count it by its length."""
    if isinstance(value, str | list | tuple):
        spend(len(value) // STEP_OF_TEXT)
    return value


@pass_context
def finalized(_: Context, value: Any) -> Any:
    """Return what a template prints, and count it: a text that runs from right to left is set
    apart.
    """
    spend(1)
    _spent(value)
    is_foreign = isinstance(value, str) and not isinstance(value, Markup)
    if is_foreign:
        return direction.isolated(value)
    return value


def _guarded(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return a filter that works within the limits."""

    @wraps(function)
    def limited_filter(*args: Any, **kwargs: Any) -> Any:
        spend(1)
        given = [*args, *kwargs.values()]
        values = [value for value in given if isinstance(value, str | int | float | list | tuple)]
        if values:
            _refuse_large(values[0], tuple(values[1:]))
        if function.__name__ == "do_format":
            _refuse_wide_format(values[0] if values else "")
        return _spent(function(*args, **kwargs))

    return limited_filter


def _refuse_large(own: object, arguments: tuple[object, ...]) -> None:
    """Refuse arguments that say how often or how wide, and texts that would be put into each other
    very often.
    """
    for value in arguments:
        if isinstance(value, int | float) and abs(value) > LARGEST_NUMBER:
            raise TooMuch(f"{value} is more than {LARGEST_NUMBER:,}")
        if isinstance(own, Sized) and isinstance(value, Sized) and len(own) * len(value) > LARGEST:
            raise TooMuch(f"the text could have more than {LARGEST:,} characters")


def _refuse_wide_format(text: object) -> None:
    if isinstance(text, str) and WIDE_FORMAT.search(text):
        raise TooMuch(f"a width in the format {text[:60]!r} may be more than {LARGEST_NUMBER:,}")


def _check_product(left: Any, right: Any) -> None:
    sizes = [len(value) if isinstance(value, Sized) else abs(value) for value in (left, right)]
    if sizes[0] * sizes[1] > LARGEST and any(isinstance(value, Sized) for value in (left, right)):
        raise TooMuch(f"the text or list would have more than {LARGEST:,} characters or items")
    spend(int(min(sizes[0] * sizes[1], LARGEST)) // STEP_OF_TEXT)


def _check_sum(left: Any, right: Any) -> None:
    for value in (left, right):
        _spent(value)


def _check_power(left: Any, right: Any) -> None:
    if abs(left) > LARGEST_NUMBER or abs(right) > LARGE_POWER:
        raise TooMuch(f"{left} ** {right} is too large")


def _check_format(left: Any, right: Any) -> None:
    _refuse_wide_format(left)


_OPERATORS: Final[Mapping[str, Callable[[Any, Any], None]]] = {
    "*": _check_product,
    "**": _check_power,
    "+": _check_sum,
    "%": _check_format,
}
