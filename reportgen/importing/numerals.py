"""Numbers of messages in the signs of the language."""

from reportgen.language import is_english, separator


def grouped(number: float) -> str:
    """Return a number without decimals in groups of three digits, such as `1,000`."""
    text = f"{number:,.0f}"
    if is_english():
        return text
    return text.replace(",", separator())
