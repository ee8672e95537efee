"""Numbers as people say them, with the words just outside each limit."""

import pytest

from grammar import parse
from grammar.findings import Animal, Condition, Measurement, Ovary, Pregnancy

TAGS = [
    ("cow eight thirty-seven", "837"),
    ("cow eight three seven", "837"),
    ("cow eight hundred and thirty-seven", "837"),
    ("cow eight hundred thirty-seven", "837"),
    ("tag double four one", "441"),
    ("tag triple two", "222"),
    ("tag oh four one two", "0412"),
    ("tag zero four one two", "0412"),
    ("cow two six zero five", "2605"),
    ("cow twenty-six oh five", "2605"),
    ("cow twenty six hundred and five", "2605"),
    ("cow two thousand six hundred and five", "2605"),
    ("cow two thousand and five", "2005"),
    ("cow twenty oh five", "2005"),
    ("cow thirteen", "13"),
    ("cow thirty", "30"),
    ("cow sixteen sixty", "1660"),
    ("cow a hundred and five", "105"),
    ("cow 8:37", "837"),
    ("Cow 8, 37.", "837"),
    ("cow 2,605", "2605"),
    ("animal number 0412", "0412"),
    ("eight thirty-seven", "837"),
    ("ear tag nineteen ninety", "1990"),
]


@pytest.mark.parametrize(("phrase", "tag"), TAGS)
def test_a_tag_is_a_string_of_the_digits_that_were_spoken(phrase: str, tag: str) -> None:
    reading = parse(phrase)
    (animal,) = reading.findings
    assert isinstance(animal, Animal)
    assert animal.tag == tag
    assert reading.others == ()


SIZES = [
    ("left ovary CL twenty-two", 22, None, True),
    ("left ovary CL twenty-two mil", 22, None, False),
    ("left ovary CL 22mm", 22, None, False),
    ("left ovary CL two point four centimetres", 24, None, False),
    ("left ovary CL 2.4 cm", 24, None, False),
    ("left ovary CL two and a half centimetres", 25, None, False),
    ("left ovary twenty-two mil CL", 22, None, False),
    ("left ovary follicle twenty by eighteen", 20, 18, True),
    ("left ovary follicle two by one and a half centimetres", 20, 15, False),
    ("left ovary follicle thirteen", 13, None, True),
    ("left ovary follicle thirty", 30, None, True),
    ("left ovary follicle nineteen", 19, None, True),
    ("left ovary follicle ninety", 90, None, True),
    ("left ovary CL twenty, sorry, twenty-four", 24, None, True),
]


@pytest.mark.parametrize(("phrase", "size", "second", "assumed"), SIZES)
def test_a_size_is_in_millimetres_and_marked_where_no_unit_was_said(
    phrase: str, size: float, second: float | None, assumed: bool
) -> None:
    reading = parse(phrase)
    (ovary,) = reading.findings
    assert isinstance(ovary, Ovary)
    assert (ovary.size_mm, ovary.second_size_mm, ovary.unit_assumed) == (size, second, assumed)
    assert reading.others == ()


LENGTHS = [
    ("crown rump a hundred and five", 105),
    ("crown rump a hundred and four", 104),
    ("crown rump one hundred", 100),
    ("crown rump ninety-nine", 99),
    ("crown rump one forty", 140),
    ("crown rump one oh five", 105),
    ("crown rump two sixty-five", 265),
    ("crown rump length 22", 22),
    ("crl one point five centimetres", 15),
]


@pytest.mark.parametrize(("phrase", "size"), LENGTHS)
def test_a_length_may_pass_a_hundred(phrase: str, size: float) -> None:
    reading = parse(phrase)
    (found,) = reading.findings
    assert isinstance(found, Measurement)
    assert found.size_mm == size
    assert reading.others == ()


AGES = [
    ("pregnant forty-five days", 45, None, False, "days"),
    ("pregnant about forty", 40, None, True, None),
    ("pregnant fortyish", 40, None, True, None),
    ("pregnant forty days plus", 40, None, True, "days"),
    ("pregnant forty to forty-five days", 40, 45, True, "days"),
    ("pregnant day forty", 40, None, False, "days"),
    ("pregnant six weeks", 42, None, False, "weeks"),
    ("pregnant six and a half weeks", 46, None, False, "weeks"),
    ("pregnant three months", 90, None, False, "months"),
    ("pregnant three and a half months", 105, None, False, "months"),
    ("pregnant three point five months", 105, None, False, "months"),
    ("pregnant 3.5 months", 105, None, False, "months"),
    ("about forty days pregnant", 40, None, True, "days"),
    ("pregnant one forty days", 140, None, False, "days"),
    ("pregnant fourteen days", 14, None, False, "days"),
    ("pregnant a hundred and five days", 105, None, False, "days"),
]


@pytest.mark.parametrize(("phrase", "days", "upper", "about", "stated"), AGES)
def test_an_age_keeps_the_unit_and_the_doubt_with_which_it_was_said(
    phrase: str, days: int, upper: int | None, about: bool, stated: str | None
) -> None:
    reading = parse(phrase)
    (found,) = reading.findings
    assert isinstance(found, Pregnancy)
    assert (found.age_days, found.age_to_days, found.approximate, found.stated_as) == (
        days,
        upper,
        about,
        stated,
    )
    assert reading.others == ()


SCORES = [
    ("condition two and a half", 2.5, None),
    ("condition score two and three quarters", 2.75, None),
    ("condition score two and a quarter", 2.25, None),
    ("BCS two point seven five out of five", 2.75, 5),
    ("body condition 4.5 out of eight", 4.5, 8),
    ("condition three", 3.0, None),
]


@pytest.mark.parametrize(("phrase", "score", "scale"), SCORES)
def test_a_condition_score_keeps_its_scale(phrase: str, score: float, scale: int | None) -> None:
    assert parse(phrase).findings == (Condition(score, scale),)


@pytest.mark.parametrize(
    "phrase",
    ["cow", "cow pigeon", "left ovary CL the", "twenty two", "recheck on the tenth of march"],
)
def test_what_cannot_be_read_says_where_and_why(phrase: str) -> None:
    reading = parse(phrase)
    assert reading.said == ()
    assert reading.unread is not None
    assert 0 <= reading.unread.at <= len(reading.normal)
    assert reading.unread.sentence.endswith(".")
