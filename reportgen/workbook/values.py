"""One cell: what it holds, against what the declaration says of its column."""

import re
import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time
from math import inf, isfinite
from typing import Final

from reportgen import direction
from reportgen.language import either, listed, marked, plural, say
from reportgen.workbook.cells import Value
from reportgen.workbook.dates import TextDates, Undated
from reportgen.workbook.declaration import Column, Kind
from reportgen.workbook.names import bare, folded
from reportgen.workbook.scales import class_in
from reportgen.workbook.units import UnitError, conversion, unit_in_words
from reportgen.workbook.vocabulary import ENGLISH, Vocabulary, flags, words_of

# Excel's error values; LibreOffice writes the same words to .xlsx.
EXCEL_ERRORS: Final = (
    "#DIV/0!",
    "#N/A",
    "#NAME?",
    "#NULL!",
    "#NUM!",
    "#REF!",
    "#VALUE!",
    "#SPILL!",
    "#CALC!",
    "#FIELD!",
    "#BLOCKED!",
    "#CONNECT!",
    "#BUSY!",
    "#UNKNOWN!",
    "#GETTING_DATA",
)
NUMBER: Final = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*)", re.DOTALL)
THOUSAND_OR_DECIMAL: Final = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
LOOKALIKES: Final = str.maketrans("OoIl", "0011")
CODE_FORMAT: Final = re.compile(r"(0+)(?:\.(0+))?(%?)")
CLOCK: Final = re.compile(r"(\d{1,2})[:.h]([0-5]\d)(?::00)?")
HOURS_PER_DAY: Final = 24
SERIAL_DATES: Final = (36526, 73050)  # 2000-01-01 and 2099-12-31 as Excel counts days
FAR_BEYOND: Final = 2  # times what is possible; nearer values are seldom a slip of the point
BEYOND_BELIEF: Final = 1e12  # no quantity of a trial reaches it in any unit that is kept
SHOWN: Final = 60
# what growers may mean by words that are no choices, whatever they are spelt like
MEANT_BY: Final = {
    **dict.fromkeys(("relleno", "rellenado", "refill", "refilled", "filled"), ("fill", "top-up")),
    **dict.fromkeys(
        ("ok", "alive", "living", "vivo", "viva", "lebt", "vivant", "vivante"), ("harvested",)
    ),
}
NEAR_ENOUGH: Final = 60  # of 100 that a word is like another, from which it may be a slip of it
ABOUT_AS_NEAR: Final = 15  # of 100: words that are as like may both be meant
UNSEEN: Final = re.compile(
    rf"{direction.CONTROLS.pattern}|[\u00ad\u200b-\u200d\u2060-\u2064\ufeff]"
)
KINDS: Final = {
    Kind.TEXT: marked("a text"),
    Kind.MARKDOWN: marked("a Markdown text"),
    Kind.LIST: marked("a list, separated by commas"),
    Kind.CODE: marked("a code"),
    Kind.NUMBER: marked("a number"),
    Kind.COUNT: marked("a whole number"),
    Kind.LEVEL: marked("a percent or fraction"),
    Kind.AMOUNT: marked("a number, with the unit of what is measured behind it"),
    Kind.DATE: marked("a date"),
    Kind.MOMENT: marked("a date, or date and time"),
    Kind.CLOCK: marked("a time of day"),
    Kind.CHOICE: marked("one of the listed words"),
    Kind.SCORE: marked("a class of a scale"),
    Kind.FLAG: marked("yes or no"),
    Kind.CURRENCY: marked("an ISO 4217 currency code"),
    Kind.LANGUAGE: marked("a BCP 47 language tag"),
}
ALONE: Final = marked("Type the number alone: its currency stands on the sheet Trial.")


@dataclass(eq=False)
class Unreadable(Exception):
    """A cell does not hold what its column wants; `found` is said after the quoted cell, `code` is
    that of the problem.

    `shared` marks what is said once for all cells of a column.
    """

    found: str
    expected: str
    advice: str
    shared: bool = False
    code: str = field(kw_only=True)


@dataclass(frozen=True)
class Amount:
    """A number with the unit that stands behind it, empty where there is none."""

    number: float
    unit: str


Reader = Callable[[Value, str], Value]


def blank(value: Value) -> bool:
    """Return whether a cell holds nothing, or spaces only."""
    return value is None or (isinstance(value, str) and not value.strip())


def bare_number(value: Value) -> bool:
    """Return whether a cell holds a number without a unit, be it as text."""
    if isinstance(value, str):
        return bool((found := NUMBER.fullmatch(value.strip())) and not found[2])
    return isinstance(value, int | float) and not isinstance(value, bool)


def whole_text(value: Value) -> str:
    """Return a cell's content as text: whole numbers without a point, others in Excel's digits."""
    if isinstance(value, bool):
        if value:
            return "TRUE"
        return "FALSE"
    if isinstance(value, float):
        if abs(value) < 1e15 and value.is_integer():
            return f"{value:.0f}"
        return f"{value:.15g}"
    return str(value).strip()


def shown(value: Value) -> str:
    """Return a cell's content as it stands in a message: on one line, cut where it is long, unseen
    signs by number.
    """
    text = UNSEEN.sub(_by_number, re.sub(r"\s+", " ", whole_text(value)))
    if len(text) <= SHOWN:
        return text
    return text[: SHOWN - 3] + "..."


def _by_number(match: re.Match[str]) -> str:
    return f"[U+{ord(match[0]):04X}]"


def quoted(value: Value) -> str:
    """Return a cell's content as it is quoted in a message."""
    if isinstance(value, datetime):
        return f'"{value:%Y-%m-%d %H:%M}"'.replace(" 00:00", "")
    return f'"{shown(value)}"'


def here_and_in_more(number: int) -> str:
    """Return what is said behind a content that stands in `number` further cells too."""
    return plural(" (here and in {number} more cell)", " (here and in {number} more cells)", number)


def expected(column: Column, words: Vocabulary = ENGLISH) -> str:
    """Return what a column wants; its choices in `words`."""
    if column.choices:
        return say("one of {listed}", listed=", ".join(map(words.word, column.choices)))
    if column.kind is Kind.FLAG:
        return say("{yes} or {no}", yes=words.yes[0], no=words.no[0])
    kind = say(KINDS[column.kind])
    if column.unit:
        return say("{kind} in {unit}", kind=kind, unit=unit_in_words(column.unit))
    return kind


def reader(column: Column, unit: str, dates: TextDates, words: Vocabulary = ENGLISH) -> Reader:
    """Return the function that reads a column's cell: (value, number format) -> value or None.

    `unit` is the header's; `dates` knows the order of day and month in the column. A choice may be
    typed in any language and is returned as it is declared; messages name choices in `words`. The
    function raises Unreadable.
    """
    one = _reader(column, unit or column.unit, dates, words)

    def read(value: Value, number_format: str) -> Value:
        if blank(value):
            return None
        if isinstance(value, str) and value.strip() in EXCEL_ERRORS:
            raise Unreadable(
                say("is an error of the spreadsheet"),
                expected(column, words),
                say("Mend the formula, or type the value."),
                code="spreadsheet_error",
            )
        return one(value, number_format)

    return read


def _reader(column: Column, unit: str, dates: TextDates, words: Vocabulary) -> Reader:
    readers: dict[Kind, Reader] = {
        Kind.CODE: code,
        Kind.NUMBER: lambda value, shape: _bounded(
            _number(_in_percent(value, shape, column), column, unit), value, column
        ),
        Kind.AMOUNT: lambda value, _: _amount(value, column),
        Kind.COUNT: lambda value, _: _bounded(_count(value, column), value, column),
        Kind.LEVEL: lambda value, _: _bounded(_level(value, column), value, column),
        Kind.DATE: lambda value, _: _moment(value, dates).date(),
        Kind.MOMENT: lambda value, _: _moment(value, dates),
        Kind.CLOCK: lambda value, _: _hours(value),
        Kind.CHOICE: lambda value, _: _choice(value, column, words),
        Kind.SCORE: lambda value, _: _class(value, column),
        Kind.FLAG: lambda value, _: _flag(value, words),
        Kind.CURRENCY: lambda value, _: _currency(value),
        Kind.LANGUAGE: lambda value, _: _language(value),
    }
    return readers.get(column.kind, lambda value, _: whole_text(value))


def code(value: Value, number_format: str) -> str:
    """Return an identifier as the text that the sheet shows: 1.10, 007 and 5% stay so where the
    format shows them.
    """
    if isinstance(value, datetime | date | time):
        raise Unreadable(
            say("is a date"),
            say("a code"),
            say(
                "The spreadsheet took the code for a date: format the column as text, type it"
                " again."
            ),
            code="date_for_code",
        )
    found = CODE_FORMAT.fullmatch(number_format)
    if found and bare_number(value) and not isinstance(value, str):
        decimals, percent = len(found[2] or ""), found[3] or "f"
        width = len(found[1]) + (decimals + 1 if decimals else 0)
        return f"{value:0{width}.{decimals}{percent}}"
    return unicodedata.normalize("NFC", re.sub(r"\s+", " ", whole_text(value)))


def _in_percent(value: Value, number_format: str, column: Column) -> Value:
    """Return a number as the sheet shows it: a cell formatted as a percentage keeps 2% as 0.02."""
    if "%" in number_format and column.unit == "%" and isinstance(value, int | float):
        return value * 100
    return value


def _amount(value: Value, column: Column) -> Amount:
    """Return a number and the unit behind it, which only its row can convert."""
    if isinstance(value, str):
        found = NUMBER.fullmatch(value.strip())
    else:
        found = None
    digits, unit = (found[1], found[2]) if found else (value, "")
    return Amount(_bounded(_number(digits, column, ""), value, column), unit)


def _number(value: Value, column: Column, unit: str) -> float:
    if isinstance(value, bool):
        raise Unreadable(
            say("is not a number"),
            expected(column),
            say("Type the number, or leave the cell blank."),
            code="not_a_number",
        )
    if isinstance(value, int | float):
        return _converted(float(value) if abs(value) <= BEYOND_BELIEF else inf, unit, column)
    if not isinstance(value, str):
        raise Unreadable(
            say("is a date or a time, not a number"),
            expected(column),
            say(
                "The spreadsheet took the number for a date: format the cell as a number, type it"
                " again."
            ),
            code="date_for_number",
        )
    digits, own_unit = _split(value, column)
    return _converted(float(digits.replace(",", ".")), own_unit or unit, column)


def _split(text: str, column: Column) -> tuple[str, str]:
    found = NUMBER.fullmatch(text.strip())
    if not found or (found[2] and not _is_unit(found[2], text, column)):
        raise Unreadable(
            say("is not a number"),
            expected(column),
            _number_advice(text, column),
            code="not_a_number",
        )
    if THOUSAND_OR_DECIMAL.fullmatch(found[1]):
        raise Unreadable(
            say("could be a thousand or a decimal"),
            expected(column),
            say(
                "Type {found} or {found_2}.",
                found=found[1].replace(",", ""),
                found_2=found[1].replace(",", "."),
            ),
            code="thousand_or_decimal",
        )
    return found[1], found[2]


def _is_unit(unit: str, text: str, column: Column) -> bool:
    if not column.unit or re.match(r"[\d.,+-]", unit):
        return False
    try:
        conversion(unit, column.unit)
    except UnitError as reason:
        if _mended(text):
            return False
        if column.money:
            advice = say(ALONE)
        else:
            advice = say(
                "Type the value in {unit}, or with a unit that can be converted.", unit=column.unit
            )
        raise Unreadable(
            say("is in {unit}", unit=shown(unit)), str(reason), advice, code="unknown_unit"
        ) from reason
    return True


def _mended(text: str) -> str:
    mended = text.strip().translate(LOOKALIKES)
    if mended != text.strip() and re.fullmatch(r"\d+(?:[.,]\d+)?", mended):
        return mended
    return ""


def _number_advice(text: str, column: Column) -> str:
    if mended := _mended(text):
        return say("Digits only: a letter here looks like a digit. Type {mended}.", mended=mended)
    if column.money:
        return say(ALONE)
    return say("Type digits with one decimal point, or leave the cell blank.")


def _converted(number: float, unit: str, column: Column) -> float:
    if not column.unit:
        return number
    factor, offset = conversion(unit, column.unit)
    return number * factor + offset


def _is_possible(number: float, column: Column) -> bool:
    """Tell whether a number is within the bounds of a column."""
    if column.above is not None and number <= column.above:
        return False
    if column.at_least is not None and number < column.at_least:
        return False
    return column.at_most is None or number <= column.at_most


def _bounded(number: float, value: Value, column: Column) -> float:
    if not isfinite(number) or abs(number) > BEYOND_BELIEF:
        raise Unreadable(
            say("is too large to be true"),
            expected(column),
            say("Type the value again."),
            code="too_large_to_be_true",
        )
    if not _is_possible(number, column):
        raise Unreadable(
            say("is not possible here"),
            bounds(column),
            say(
                "Check {value}{perhaps_meant}, or leave the cell blank.",
                value=shown(value),
                perhaps_meant=_perhaps_meant(number, column),
            ),
            code="impossible_value",
        )
    return number


def _perhaps_meant(number: float, column: Column) -> str:
    """Return words for the one usual value that an impossible one is once its point is moved; empty
    where none is.
    """
    if column.usual is None or column.at_most is None or number < FAR_BEYOND * column.at_most:
        return ""
    low, high = column.usual
    usual = [number / 10.0**power for power in (1, 2, 3) if low <= number / 10.0**power <= high]
    if len(usual) != 1:
        return ""
    meant = f"{usual[0]:.6g} {column.unit}".rstrip()
    return say(": {meant} may be meant", meant=meant)


def bounds(column: Column) -> str:
    """Return the physically possible range of a column in words."""
    limits = (
        (marked("above {limit}"), column.above),
        (marked("at least {limit}"), column.at_least),
        (marked("at most {limit}"), column.at_most),
    )
    known = [(text, limit) for text, limit in limits if limit is not None]
    said = listed([say(text, limit=f"{limit:,.12g}") for text, limit in known])
    if column.unit and not column.unit.startswith("1/"):
        unit = f" {column.unit}"
    else:
        unit = ""
    return say("a number {said}{unit}", said=said, unit=unit)


def _count(value: Value, column: Column) -> int:
    number = _number(value, column, "")
    if not isfinite(number) or not number.is_integer():
        raise Unreadable(
            say("is not a whole number"),
            expected(column),
            say("Type a whole number."),
            code="not_a_whole_number",
        )
    return int(number)


def _level(value: Value, column: Column) -> float:
    percent = isinstance(value, str) and value.strip().endswith("%")
    number = _number(
        value.strip().removesuffix("%") if isinstance(value, str) else value, column, ""
    )
    if percent or number > 1:
        return number / 100
    return number


def _choice(value: Value, column: Column, words: Vocabulary) -> str:
    text = folded(whole_text(value))
    choice = words_of(column.choices).get(text)
    if choice:
        return choice
    synonyms = [choice for choice in MEANT_BY.get(text, ()) if choice in column.choices]
    choices = [words.word(choice) for choice in column.choices]
    near = either(list(map(words.word, synonyms))) or _near_choices(value, choices)
    if near:
        advice = say("Did you mean {near}?", near=near)
    else:
        advice = say("Type one of these words.")
    raise Unreadable(
        say("is not one of the words for this column"),
        expected(column, words),
        advice,
        code="not_a_choice",
    )


def _class(value: Value, column: Column) -> str:
    found = class_in(whole_text(value), column.choices)
    if found:
        return found
    if not bare_number(value):
        near = _nearest_choice(value, column.choices)
    else:
        near = ""
    unless = say("Where these are no classes, write the unit in the header.")
    if near:
        advice = say("Did you mean {near}?", near=near)
    else:
        advice = say("Type one of these classes. {unless}", unless=unless)
    raise Unreadable(
        say("is not a class of {name}", name=column.name),
        expected(column),
        advice,
        code="not_a_class",
    )


def _nearest_choice(value: Value, choices: Sequence[str]) -> str:
    """Return the word of a column that a cell is probably a slip of, empty where none is near."""
    from rapidfuzz import fuzz, process, utils

    near = process.extractOne(
        shown(value),
        choices,
        scorer=fuzz.ratio,
        processor=utils.default_process,
        score_cutoff=NEAR_ENOUGH,
    )
    if near:
        return near[0]
    return ""


def _near_choices(value: Value, choices: Sequence[str]) -> str:
    """Return the words of a column that a cell may be a slip of: the nearest and one that is about
    as near.
    """
    from rapidfuzz import fuzz, process, utils

    near = process.extract(
        shown(value),
        choices,
        scorer=fuzz.ratio,
        processor=utils.default_process,
        score_cutoff=NEAR_ENOUGH,
        limit=2,
    )
    return either([word for word, score, _ in near if near[0][1] - score <= ABOUT_AS_NEAR])


def _flag(value: Value, words: Vocabulary) -> bool:
    said = flags().get(bare(whole_text(value)))
    if said is not None:
        return said
    yes, no = words.yes[0], words.no[0]
    raise Unreadable(
        say("is neither {yes} nor {no}", yes=yes, no=no),
        say("{yes} or {no}", yes=yes, no=no),
        say("Type {yes} or {no}.", yes=yes, no=no),
        code="not_yes_or_no",
    )


def _currency(value: Value) -> str:
    from babel.core import get_global

    currency = whole_text(value).upper()
    if currency not in get_global("all_currencies"):
        raise Unreadable(
            say("is not a currency code"),
            say("a code of ISO 4217 such as EUR or USD"),
            say("Type the three letters."),
            code="not_a_currency",
        )
    return currency


def _language(value: Value) -> str:
    from babel import Locale, UnknownLocaleError

    tag = whole_text(value).replace("_", "-")
    try:
        Locale.parse(tag, sep="-")
    except (ValueError, UnknownLocaleError) as error:
        raise Unreadable(
            say("is not a language tag"),
            say("a tag of BCP 47 such as en or es"),
            say("Type the tag."),
            code="not_a_language",
        ) from error
    return tag


def _moment(value: Value, dates: TextDates) -> datetime:
    if isinstance(value, datetime):
        return value
    if isinstance(value, date):
        return datetime.combine(value, time())
    if not isinstance(value, str):
        raise Unreadable(
            say("is not a date"), say("a date"), _date_advice(value), code="not_a_date"
        )
    try:
        return dates.read(value)
    except Undated as reason:
        raise Unreadable(
            reason.found, say("a date"), reason.advice, reason.shared, code=reason.code
        ) from reason


def _hours(value: Value) -> float:
    """Return a time of day as hours since midnight, 24 for the midnight that ends a day."""
    if isinstance(value, time):
        return value.hour + value.minute / 60 + value.second / 3600
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 1:
        return value * HOURS_PER_DAY  # a spreadsheet keeps a time of day as a part of the day
    if isinstance(value, str):
        found = CLOCK.fullmatch(value.strip())
    else:
        found = None
    if found:
        hours = int(found[1]) + int(found[2]) / 60
    else:
        hours = HOURS_PER_DAY + 1
    if hours > HOURS_PER_DAY:
        raise Unreadable(
            say("is not a time of day"),
            say("a time of day"),
            say("Type it as hours and minutes, for example 06:30."),
            code="not_a_time_of_day",
        )
    return hours


def _date_advice(value: Value) -> str:
    if isinstance(value, int | float) and SERIAL_DATES[0] <= value <= SERIAL_DATES[1]:
        return say("It may be a date that is shown as a number: format the cell as a date.")
    return say("Type it as year-month-day, for example 2026-03-31.")
