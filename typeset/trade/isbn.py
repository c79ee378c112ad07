"""ISBNs (ISO 2108): the check digit, and what is wrong with one that is not right."""

from __future__ import annotations

import re

from cagework.typeset.faults import quoted


def bare(text: str) -> str:
    """An ISBN without its hyphens and spaces."""
    return text.replace("-", "").replace(" ", "")


def check_digit(twelve: str) -> str:
    """The last digit of an ISBN-13, or of any EAN-13: weights 1 and 3 by turns, the sum a multiple of ten."""
    return str(-sum(int(digit) * (3 if place % 2 else 1) for place, digit in enumerate(twelve)) % 10)


def isbn_fault(text: str) -> tuple[str, str] | None:
    """What is wrong with an ISBN-13, and the way out; None where it is right."""
    digits = bare(text)
    if re.fullmatch(r"[0-9]{9}[0-9Xx]", digits):
        return _ten_digits(text, digits)
    if not re.fullmatch(r"[0-9]{13}", digits):
        return f"{quoted(text)} is not an ISBN", "an ISBN has thirteen digits, with or without hyphens"
    if digits[:3] not in ("978", "979"):
        return "does not start with 978 or 979", "copy all thirteen digits of the ISBN"
    right = check_digit(digits[:12])
    if digits[12] != right:
        return f"ends in {digits[12]}, but its check digit is {right}", \
            f"if the first twelve digits are right, end it in {right}"
    return None


def _ten_digits(text: str, digits: str) -> tuple[str, str]:
    """What to say of an ISBN of the kind given out until 2006: weights 10 to 2, modulus 11, X for ten."""
    right = "0123456789X"[-sum(int(digit) * (10 - place) for place, digit in enumerate(digits[:9])) % 11]
    longer = f"978{'-' if '-' in text else ''}{text.strip()[:-1]}{check_digit('978' + digits[:9])}"
    if digits[9].upper() != right:
        return f"is a ten-digit ISBN that ends in {digits[9]}, but its check digit is {right}", \
            f"if the first nine digits are right, the thirteen-digit ISBN is {longer}"
    return "is a ten-digit ISBN", f"write the thirteen-digit one: {longer}"
