"""Check digits of ISBNs, and what an editor is told of one that is wrong."""

from __future__ import annotations

import pytest

from cagework.typeset.trade.isbn import bare, check_digit, isbn_fault


# Worked example of the check digit in the ISBN Users' Manual, 7th edition (978-0-11-000222-4), and a number
# often printed as an example (978-3-16-148410-0, common practice).
@pytest.mark.parametrize(
    "right", ["978-0-11-000222-4", "978-3-16-148410-0", "9783161484100", "978 3 16 148410 0"])
def test_isbn_check_digits(right: str) -> None:
    assert isbn_fault(right) is None
    for digit in "0123456789":
        if digit != right[-1]:
            assert isbn_fault(right[:-1] + digit) == (
                f"ends in {digit}, but its check digit is {right[-1]}",
                f"if the first twelve digits are right, end it in {right[-1]}")


def test_every_misread_digit_of_an_isbn_is_noticed() -> None:
    """Weights 1 and 3 are both prime to 10, so a single changed digit changes the sum modulo 10."""
    right = "9783161484100"
    for at in range(13):
        for digit in set("0123456789") - {right[at]}:
            assert isbn_fault(right[:at] + digit + right[at + 1:]) is not None


@pytest.mark.parametrize("text", ["", "12", "978-3-16-148410", "978-3-16-148410-00", "978-3-16-14841O-0"])
def test_what_has_not_thirteen_digits_is_no_isbn(text: str) -> None:
    message, way_out = isbn_fault(text) or ("", "")
    assert "is not an ISBN" in message and "thirteen digits" in way_out


# The ISBN article of Wikipedia gives 0-306-40615-2 and 978-0-306-40615-7 as one number in both forms; truevue.org
# works the second check digit out (weighted sum 93, remainder 3, check digit 7).
def test_an_isbn_of_ten_digits_is_refused_with_its_longer_form() -> None:
    assert check_digit("978030640615") == "7"
    assert isbn_fault("0-306-40615-2") == (
        "is a ten-digit ISBN", "write the thirteen-digit one: 978-0-306-40615-7")
    assert isbn_fault("0306406152") == ("is a ten-digit ISBN", "write the thirteen-digit one: 9780306406157")


def test_a_ten_digit_isbn_with_a_wrong_end_is_not_made_longer_in_silence() -> None:
    wrong = isbn_fault("0-306-40615-3")
    assert wrong is not None
    assert "its check digit is 2" in wrong[0]
    assert "if the first nine digits are right" in wrong[1]


def test_ten_as_a_check_digit_is_an_x() -> None:
    """0-8044-2957-X, in the ISBN article of Wikipedia; weights 10 to 1 make a multiple of 11."""
    assert sum(int(digit) * (10 - place) for place, digit in enumerate("080442957")) % 11 == 1
    for written in ("0-8044-2957-X", "0-8044-2957-x"):
        message, way_out = isbn_fault(written) or ("", "")
        assert message == "is a ten-digit ISBN"
        longer = way_out.rpartition(" ")[2]
        assert isbn_fault(longer) is None
        assert bare(longer)[:12] == "978080442957"
