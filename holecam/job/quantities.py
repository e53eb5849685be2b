"""Kinds of value that a job file is made of: exact lengths, plain numbers, names, and the base of every model.

A length ends as an exact :class:`fractions.Fraction` of millimetres. A bare number takes the job's unit, which is read
before anything else; a ``Fraction`` given from Python is millimetres already.
"""

import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from fractions import Fraction
from typing import Annotated, Any

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    StrictBool,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from holecam.errors import InputError
from holecam.lengths import EXAMPLES, Unit, parse_length

GREATEST_LENGTH = Fraction(10_000)
"""mm. Ten metres: beyond every mill that this tool serves, so a larger number is a slip of the unit or the point."""

LEAST_LENGTH = Fraction(1, 100_000)
"""mm. A hundredth of a micron: a smaller pitch or diameter is a slip, and would make endless rows."""

LONGEST_NAME = 80
"""Characters of a name: it has to fit a column of the sheet and a comment of a program."""

LONGEST_TEXT = 2000
"""Characters of a free text such as notes."""

MOST_HOLES = 10_000
"""Holes in one pattern: above any plate that is drilled by hand, below what would stall the checks."""

PROBLEM = "holecam"
"""Type of the errors raised here; their context carries ``expected`` and ``hint`` for the reader's message."""

_UNIT: ContextVar[Unit | None] = ContextVar("unit of a bare number", default=None)


@contextmanager
def bare_numbers_in(unit: Unit | None) -> Iterator[None]:
    """Within this block a bare number is a length in ``unit``; with ``None`` bare numbers are refused."""
    token = _UNIT.set(unit)
    try:
        yield
    finally:
        _UNIT.reset(token)


def unit_of_bare_numbers() -> Unit | None:
    """Return the unit in force."""
    return _UNIT.get()


_FOLDER: ContextVar[str | None] = ContextVar("folder of drawings", default=None)


@contextmanager
def drawings_in(folder: str | None) -> Iterator[None]:
    """Within this block drawings are looked up in ``folder`` and tried; with ``None`` they are left unopened."""
    token = _FOLDER.set(folder)
    try:
        yield
    finally:
        _FOLDER.reset(token)


def folder_of_drawings() -> str | None:
    """Return the folder in force; ``None`` while drawings are not to be opened."""
    return _FOLDER.get()


def refusal(expected: str, hint: str = "", *, at: tuple[str | int, ...] = ()) -> PydanticCustomError:
    """Return the error to raise for a wrong value: what was expected, and what to write instead.

    ``at`` leads from the table that is being checked to the key that is wrong.
    """
    text = "expected {expected}. {hint}" if hint else "expected {expected}"
    return PydanticCustomError(PROBLEM, text, {"expected": expected, "hint": hint, "at": at})


def _length(value: Any) -> Fraction:
    unit = _UNIT.get()
    if isinstance(value, Fraction):
        exact = value
    elif isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise refusal(EXAMPLES)
    else:
        try:
            exact = parse_length(value, unit=unit, key="")
        except InputError as error:
            raise refusal(
                error.expected or EXAMPLES, error.message.partition(f"expected {EXAMPLES}.")[2].strip()
            ) from None
    if abs(exact) > GREATEST_LENGTH:
        raise refusal("a length of at most 10 m", "Look at the unit and the decimal point.")
    return exact


def _positive(value: Any) -> Fraction:
    exact = _length(value)
    if exact <= 0:
        raise refusal("a length above zero")
    if exact < LEAST_LENGTH:
        raise refusal("a length of at least 0.00001 mm", "Look at the unit and the decimal point.")
    return exact


def _not_negative(value: Any) -> Fraction:
    exact = _length(value)
    if exact < 0:
        raise refusal("a length of zero or more")
    return exact


class Checked:
    """Mark a value that one function reads, whatever it is written as; ``written`` describes it in the schema.

    The library would look at the function's signature anew for every key of every table; what it would find is said
    here once.
    """

    def __init__(self, read: Callable[[Any], Any], written: JsonSchemaValue, *, as_number: bool = False) -> None:
        serialization = (
            core_schema.plain_serializer_function_ser_schema(
                float, return_schema=core_schema.float_schema(), when_used="json"
            )
            if as_number
            else None
        )
        self.core = core_schema.no_info_plain_validator_function(read, serialization=serialization)
        self.written = written

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return self.core

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return dict(self.written)


def _checked_length(read: Callable[[Any], Fraction], description: str) -> Checked:
    written = {"anyOf": [{"type": "string"}, {"type": "number"}], "description": description}
    return Checked(read, written, as_number=True)


Length = Annotated[
    Fraction,
    _checked_length(
        _length, "A length, signed: a number in the job's unit, or text such as 3/16, 1-7/32, 4.5 mm, 12 thou."
    ),
]
PositiveLength = Annotated[
    Fraction,
    _checked_length(
        _positive, "A length above zero: a number in the job's unit, or text such as 3/16, 1-7/32, 4.5 mm, 12 thou."
    ),
]
NonNegativeLength = Annotated[
    Fraction,
    _checked_length(
        _not_negative, "A length of zero or more: a number in the job's unit, or text such as 3/16, 4.5 mm, 12 thou."
    ),
]

XY = tuple[Length, Length]
"""(x, y), exact mm."""

Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
PositiveNumber = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0)]
NonNegativeNumber = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0)]
Degrees = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=-360, le=360)]
PointAngle = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=30, le=180)]
Percent = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0, le=100)]
Count = Annotated[int, Field(strict=True, ge=1, le=MOST_HOLES)]
HoleNumber = Annotated[int, Field(strict=True, ge=1, le=MOST_HOLES)]
Flag = StrictBool

_BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def _refuse_hidden(text: str, *, also_allowed: str = "") -> None:
    """Refuse characters that do not show, once and here, so that no writer has to think of them."""
    for char in text:
        kind = unicodedata.category(char)
        if char in also_allowed:
            continue
        if char in _BIDI or kind in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp"):
            raise refusal("text without control or direction characters", f"It holds U+{ord(char):04X}; take it out.")


def plain_name(value: Any) -> str:
    """Return a name, stripped: one line, not empty, not long, nothing hidden in it."""
    if not isinstance(value, str):
        raise refusal("text in quotes")
    text = value.strip()
    if not text:
        raise refusal("text that is not empty")
    if len(text) > LONGEST_NAME:
        raise refusal(f"at most {LONGEST_NAME} characters", "Put the rest under notes.")
    _refuse_hidden(text)
    return text


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise refusal("text in quotes")
    if len(value) > LONGEST_TEXT:
        raise refusal(f"at most {LONGEST_TEXT} characters")
    _refuse_hidden(value, also_allowed="\n\r\t")
    return value.strip()


def _day(value: Any) -> str:
    if isinstance(value, date):
        return value.isoformat()[:10]
    return plain_name(value)


Name = Annotated[str, Checked(plain_name, {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME})]
"""Text on one line, 1 to 80 characters, none of them hidden."""

Text = Annotated[str, Checked(_text, {"type": "string", "maxLength": LONGEST_TEXT})]
"""Free text; line ends are allowed."""

Day = Annotated[str, Checked(_day, {"type": "string"})]
"""A date as text; a TOML date is taken as it is."""


class OrText:
    """Mark a table that may also be written as a few words; the words are read by a validator that stands beside it."""

    def __init__(self, description: str) -> None:
        self.description = description

    def __get_pydantic_json_schema__(self, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"anyOf": [{"type": "string", "description": self.description}, handler(core_schema)]}


class OrForm:
    """Mark a table that may also be written in another form (a number, a pair...), described by its own schema."""

    def __init__(self, *forms: dict[str, Any]) -> None:
        self.forms = forms

    def __get_pydantic_json_schema__(self, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        return {"anyOf": [*self.forms, handler(core_schema)]}


class OrSingle:
    """Mark a list that may be written without brackets when it holds one thing."""

    def __get_pydantic_json_schema__(self, core_schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        many = handler(core_schema)
        return {"anyOf": [many["items"], many]}


def one_or_many(value: Any) -> Any:
    """Return a tuple for a single value, so that a list of one may be written without brackets."""
    single = isinstance(value, (str, dict, int, float)) and not isinstance(value, bool)
    return (value,) if single else value


Names = Annotated[tuple[Name, ...], BeforeValidator(one_or_many), OrSingle()]
Texts = Annotated[tuple[Text, ...], BeforeValidator(one_or_many), OrSingle()]


class Model(BaseModel):
    """Base of every table of a job: frozen, unknown keys refused, described by the texts under the fields
    (:mod:`holecam.job.descriptions`)."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, allow_inf_nan=False)


def given(model: Model, *names: str) -> tuple[str, ...]:
    """Return which of these fields hold something, in the words of the file."""
    fields = type(model).model_fields
    return tuple(fields[n].alias or n for n in names if getattr(model, n) is not None)


def exactly_one(model: Model, *names: str, what: str) -> None:
    """Refuse a table that holds none or several of these keys."""
    fields = type(model).model_fields
    found = given(model, *names)
    if len(found) == 1:
        return
    words = [fields[n].alias or n for n in names]
    listed = ", ".join(words[:-1]) + f" or {words[-1]}"
    got = f"It has {' and '.join(found)}." if found else "It has none of them."
    raise refusal(f"exactly one of {listed} for {what}", got, at=found[-1:])
