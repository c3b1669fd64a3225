"""Contractor data for proposals, and prices for life-cycle cost calculations.

A logo is rejected if its header specifies too large an image, because a small compressed file can
contain a very large image.
"""

import os
import re
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, NamedTuple, Self

from pydantic import ValidationInfo, model_validator

from airover.core.errors import NOTHING, InputError
from airover.core.files import beside, data_folder, read_bytes, read_text
from airover.core.message import Message
from airover.core.patterns import Pattern
from airover.core.toml import LARGEST_FILE, toml_table
from airover.core.units import Amount, parse_number, quoted
from airover.records.fields import Flag, ReadWith, Record, Text, amount, choice, in_words, whole

PNG, JPEG = b"\x89PNG\r\n", b"\xff\xd8\xff"
_FRAMES = set(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}  # JPEG segments that state the image size
_MARK = 0xFF  # first byte of each segment marker
_PROFILE = b"iCCP"  # a PNG's color profile, compressed
LONGEST_MONEY = 60
HIGHEST = 1e7  # in any currency
MOST_YEARS = 40
SHORTEST_LIFE = 3  # months
_NUMBER = r"[0-9][0-9.,]*|\.[0-9]+"

_MONEY = Pattern(
    rf"(?P<low>{_NUMBER})(?:\s*(?:-|\u2013|to\b)\s*(?P<high>{_NUMBER}))?"
    r"\s*(?P<currency>[A-Z]{3})(?:\s*(?:/|per\b)\s*(?P<per>[A-Za-z]+))?"
)
_BARE = Pattern(
    rf"\$?\s*(?P<amount>(?:{_NUMBER})(?:\s*(?:-|\u2013|to\b)\s*\$?\s*(?:{_NUMBER}))?)\s*(?:(?:/|per\b)\s*(?P<per>[A-Za-z]+))?"
)
_EXAMPLES = {"": "85 USD", "h": "95 USD/h", "kWh": "0.16 USD/kWh"}
_PER = {"": "", "h": "h", "hr": "h", "hour": "h", "kwh": "kWh"}
FILE = Message("error.company.file")
LARGEST_LOGO = 2_000_000  # bytes
MOST_PIXELS = 10_000_000  # a 2 MB PNG of a uniform color may contain a thousand times as many
LARGEST_PROFILE = 50_000  # bytes; a typical display profile is 3 kB
_BEGINNINGS = {".png": PNG, ".jpg": JPEG, ".jpeg": JPEG}
CURRENCY, VALIDITY_DAYS = "USD", 30
PARTS, EVERYTHING = "parts", "everything"
TAXED = {PARTS: ("materials",), EVERYTHING: ("all", "parts and labor", "total")}
SINGLE = ("markup", "tax", "flat_rate")  # fields that cannot be ranges


def read_money(text: object, per: str, field: str) -> Amount:
    """Read an amount of money, such as "0.16 USD/kWh" or "85-110 USD/h".

    ``per`` is "h", "kWh" or "". The unit begins with a currency code of three capital letters.

    Raises
    ------
    InputError
        If the text has no currency, if the price is per another unit, if the high value is given
        before the low value, or if a value exceeds ten million. The error names ``field``.

    Examples
    --------
    >>> read_money("0.12-0.16 USD/kWh", "kWh", "energy price").unit
    'USD/kWh'
    """
    unit = f"XXX/{per}" if per else "XXX"
    accepted = Message("error.money.accepted", example=_EXAMPLES[per])
    found = None
    if isinstance(text, str) and len(text) <= LONGEST_MONEY:
        found = _MONEY.fullmatch(text.strip())
    if not found or _PER.get((found["per"] or "").lower()) != per:
        raise InputError(field, quoted(text), accepted)
    ends = [parse_number(found[end]) for end in ("low", "high") if found[end]]
    if None in ends or ends[0] > ends[-1] or ends[-1] > HIGHEST:
        most = Message("error.money.most", accepted=accepted, most=float(HIGHEST))
        raise InputError(field, quoted(text), most)
    return Amount(ends[0], ends[-1], unit.replace("XXX", found["currency"]), text.strip())


def with_currency(entry: object, per: str, currency: str) -> object:
    """Add the ``currency`` and the unit to money that has no currency.

    Any other entry is returned unchanged.

    >>> with_currency("0.12-0.16", "kWh", "USD"), with_currency("$95/h", "h", "MXN")
    ('0.12-0.16 USD/kWh', '95 MXN/h')
    """
    number = isinstance(entry, (int, float)) and not isinstance(entry, bool)
    text = f"{entry:.12g}" if number else entry
    if not currency or not isinstance(text, str) or len(text) > LONGEST_MONEY:
        return entry
    bare = _BARE.fullmatch(text.strip())
    if not bare or _PER.get((bare["per"] or per).lower()) not in (per, per.lower()):
        return entry
    amount = bare["amount"].replace("$", "")
    return f"{amount} {currency}/{per}" if per else f"{amount} {currency}"


class Priced(NamedTuple):
    """Field for an amount of money per "h" or "kWh", or for a total amount if ``per`` is ""."""

    per: str


def money(per: str = ""):
    """Return the type of an optional field for an amount of money, in total or per "h" or "kWh"."""

    def validate(value, info: ValidationInfo):
        if value is None:
            return None
        text = value.text if isinstance(value, Amount) else value
        return read_money(text, per, in_words(info))

    return Annotated[Amount | None, ReadWith(validate), Priced(per)]


def _priced(record: type[Record]) -> dict[str, str]:
    """Return the money fields of a record, each with its ``per`` value: "h", "kWh" or ""."""
    fields = record.model_fields.items()
    return {name: one.per for name, field in fields for one in field.metadata
            if isinstance(one, Priced)}  # fmt: skip


def _with_currencies(record: type[Record], given: dict, currency: str) -> dict:
    """Return the entries by field, adding ``currency`` to amounts that have none."""
    kinds = {name: per for name, per in _priced(record).items() if name in given}
    return given | {name: with_currency(given[name], per, currency) for name, per in kinds.items()}


class CostBasis(Record):
    """Times and costs entered by the user.

    Ranges are accepted. Unknown fields are None, and all money must be in the same currency. Money
    without a currency is assumed to be in the currency of the other fields.

    Attributes
    ----------
    horizon : Amount or None
        Analysis period [months], which must be 1 to 40 whole years.
    motor_life : Amount or None
        Median life [months] of motors in these units, from the user's records.
    energy_price : Amount or None
        Electricity price per kWh.
    labour_rate : Amount or None
        Labor rate per hour.
    labour_hours : Amount or None
        Time [h] to replace a motor.
    capacitor_hours : Amount or None
        Time [h] to replace only a capacitor.
    visit_price : Amount or None
        Price of one site visit.
    second_visits : Amount or None
        Fraction of motor failures that require two visits.
    discount_rate : Amount or None
        Real discount rate per year.
    capacitor_price : Amount or None
        Price of a capacitor.
    belly_band_price : Amount or None
        Price of a belly band mount.
    lost_cooling : Amount or None
        Other costs to the customer per failure.
    """

    horizon: amount("duration") = None
    motor_life: amount("duration") = None
    energy_price: money("kWh") = None
    labour_rate: money("h") = None
    labour_hours: amount("working_time") = None
    capacitor_hours: amount("working_time") = None
    visit_price: money() = None
    second_visits: amount("share") = None
    discount_rate: amount("yearly_rate") = None
    capacitor_price: money() = None
    belly_band_price: money() = None
    lost_cooling: money() = None

    @model_validator(mode="before")
    @classmethod
    def _completed(cls, given):
        return cls.in_currency(given) if isinstance(given, dict) else given

    @classmethod
    def in_currency(cls, given: dict, currency: str = "") -> dict:
        """Return the entries by field, adding a currency to amounts that have none.

        The currency is taken from the other entries. If they have none, it is ``currency``.
        """
        texts = (getattr(given.get(name), "text", given.get(name)) for name in _priced(cls))
        named = {one["currency"] for one in map(_MONEY.fullmatch, filter(_is_text, texts)) if one}
        known = currency if not named else named.pop() if len(named) == 1 else ""
        return _with_currencies(cls, given, known)

    @property
    def currency(self) -> str:
        """Three-letter currency code, or "" if there are no amounts of money."""
        return self._moneys()[0][1].unit[:3] if self._moneys() else ""

    @property
    def years(self) -> int | None:
        """Analysis period in years."""
        return None if self.horizon is None else round(self.horizon.mid / 12)

    def contradictions(self) -> Iterator[InputError]:
        if self.horizon is not None:
            yield from self._part_years()
        if self.motor_life is not None and self.motor_life.low < SHORTEST_LIFE:
            accepted = Message("error.cost.months", count=SHORTEST_LIFE)
            yield InputError("motor life", quoted(self.motor_life.text), accepted)
        for name, one in self._moneys()[1:]:
            if one.unit[:3] != self.currency:
                field = self._moneys()[0][0]
                accepted = Message("error.money.one", currency=self.currency, field=field)
                yield InputError(name, quoted(one.text), accepted)

    def _part_years(self) -> Iterator[InputError]:
        months = self.horizon.mid
        whole = not self.horizon.is_range and abs(months / 12 - round(months / 12)) < 1e-9
        if not whole or not 1 <= self.years <= MOST_YEARS:
            accepted = Message("error.cost.years", most=MOST_YEARS, example="15 years")
            yield InputError("horizon", quoted(self.horizon.text), accepted)

    def _moneys(self) -> list[tuple[str, Amount]]:
        """Return the names and values of the fields that contain an amount of money."""
        given = ((name.replace("_", " "), value) for name, value in self)
        return [(name, one) for name, one in given if one and re.match("[A-Z]{3}", one.unit)]


def _is_text(value: object) -> bool:
    return isinstance(value, str) and len(value) <= LONGEST_MONEY


def _currency(value, info: ValidationInfo) -> str:
    if not isinstance(value, str) or not re.fullmatch("[A-Z]{3}", value.strip()):
        accepted = Message("error.money.capitals", example="USD")
        raise InputError("currency", quoted(value), accepted)
    return value.strip()


class Company(Record):
    """Contractor on a proposal, with its prices.

    The price that a customer pays is calculated from the values in the job's ``[cost]``, with these
    values for empty fields and typical values for any that remain. All amounts must be in
    ``currency``, which is assumed for amounts without a currency.

    Attributes
    ----------
    name, address, contact : str
        Name, address and contact of the company.
    licence : str
        Contractor's license number.
    logo : str
        File name of the logo, a PNG or JPEG file beside the TOML file.
    currency : str
        Three-letter currency.
    validity_days : int or None
        Number of days for which a price is valid.
    labour_warranty : Amount or None
        Warranty on labor [months].
    labour_rate : Amount or None
        Labor rate per hour.
    labour_hours : Amount or None
        Time [h] to replace a motor. The customer is charged for these hours.
    visit_price : Amount or None
        Trip charge for one site visit.
    flat_rate : Amount or None
        Fixed price of the labor and the trip. It applies unless the job has its own labor rate,
        hours or trip charge.
    capacitor_price : Amount or None
        Price of a run capacitor before markup.
    belly_band_price : Amount or None
        Price of a belly band mount before markup.
    markup : Amount or None
        Markup on parts, as a fraction of their price.
    tax : Amount or None
        Sales tax, as a fraction of the taxed amounts.
    tax_on : str or None
        Taxed amounts, either "parts" (default) or "everything".
    permit : Amount or None
        Permit fee.
    invented : bool
        True for invented demonstration data.
    """

    name: Text = ""
    address: Text = ""
    contact: Text = ""
    licence: Text = ""
    logo: Text = ""
    currency: Annotated[str, ReadWith(_currency)] = CURRENCY
    validity_days: whole(1, 366) = VALIDITY_DAYS
    labour_warranty: amount("duration") = None
    labour_rate: money("h") = None
    labour_hours: amount("working_time") = None
    visit_price: money() = None
    flat_rate: money() = None
    capacitor_price: money() = None
    belly_band_price: money() = None
    markup: amount("markup") = None
    tax: amount("share") = None
    tax_on: choice(TAXED) = None
    permit: money() = None
    invented: Flag = False

    @classmethod
    def read(cls, path: str | os.PathLike) -> Self:
        """Read the company from a TOML file.

        The file name of the logo is converted to a path.

        Raises
        ------
        InputError
            If the file is invalid, for example if the company name is missing.
        """
        found = cls(**toml_table(read_text(path, FILE, LARGEST_FILE), FILE))
        if not found.name:
            raise InputError("company name", NOTHING, Message("error.company.name"))
        if not found.logo:
            return found
        logo = beside(Path(path).resolve().parent, found.logo, "logo")
        return found.model_copy(update={"logo": str(logo)})

    @classmethod
    def usual(cls, invented: bool) -> Self:
        """Return the fictional company for an ``invented`` job, or a company without data."""
        return cls.read(data_folder() / "company.toml") if invented else cls()

    def contradictions(self) -> Iterator[InputError]:
        given = [(name.replace("_", " "), value) for name, value in self]
        for name, one in given:
            if not isinstance(one, Amount):
                continue
            if re.match("[A-Z]{3}", one.unit) and one.unit[:3] != self.currency:
                accepted = Message("error.company.currency", currency=self.currency)
                yield InputError(name, quoted(one.text), accepted)
            if one.is_range and name.replace(" ", "_") in SINGLE:
                yield InputError(name, quoted(one.text), Message("error.company.single"))

    @model_validator(mode="before")
    @classmethod
    def _completed(cls, given):
        return cls.in_currency(given) if isinstance(given, dict) else given

    @classmethod
    def in_currency(cls, given: dict, currency: str = "") -> dict:
        """Return the entries by field, adding a currency to amounts that have none.

        The company's currency is added if it is known, otherwise ``currency``.
        """
        stated = given.get("currency") or currency or CURRENCY
        return _with_currencies(cls, given, stated.strip()) if isinstance(stated, str) else given

    @property
    def prices(self) -> dict[str, str]:
        """Prices that a job's `CostBasis` can also contain, by name and as typed."""
        shared = {name: getattr(self, name, None) for name in CostBasis.names()}
        return {name: one.text for name, one in shared.items() if one is not None}

    def cost_basis(self, job: CostBasis) -> CostBasis:
        """Return the cost basis of a ``job`` with the company's prices in its empty fields.

        A basis in another currency is returned unchanged.
        """
        if job.currency not in ("", self.currency):
            return job
        given = {name: one.text for name, one in job if one is not None}
        return CostBasis(**(self.prices | given))

    def logo_bytes(self) -> bytes | None:
        """Return the content of the logo file, or None if there is no logo.

        Raises
        ------
        InputError
            If the file cannot be read, or for the same reasons as in `checked_logo`.
        """
        if not self.logo:
            return None
        content = read_bytes(self.logo, "logo", LARGEST_LOGO)
        return checked_logo(Path(self.logo).name, content)


def checked_logo(name: str, content: bytes) -> bytes:
    """Return the ``content`` of a logo file after checking it.

    Raises
    ------
    InputError
        If the file is not a PNG or JPEG image, or if it is too large or has too many pixels.
    """
    beginning = _BEGINNINGS.get(Path(name).suffix.lower())
    shown = quoted(name)
    if beginning is None or not content.startswith(beginning):
        raise InputError("logo", shown, Message("error.company.picture"))
    if len(content) > LARGEST_LOGO:
        accepted = Message("error.file.most", size=f"{LARGEST_LOGO // 10**6} MB")
        raise InputError("logo", shown, accepted)
    width, height = picture_size(content)
    if not 0 < width * height <= MOST_PIXELS:
        given = Message("error.company.size", file=shown, size=f"{width} x {height}")
        raise InputError("logo", given, Message("error.company.pixels", most=MOST_PIXELS))
    if profile_size(content) > LARGEST_PROFILE:
        given = Message("error.company.large_profile", file=shown)
        accepted = Message("error.company.profile", size=f"{LARGEST_PROFILE // 1000} kB")
        raise InputError("logo", given, accepted)
    return content


def logo_type(content: bytes) -> str:
    """Return the file type of a logo, "png" or "jpg"."""
    return "png" if content.startswith(PNG) else "jpg"


def picture_size(content: bytes) -> tuple[int, int]:
    """Return the width and height from a PNG or JPEG header, or zeros if not found."""
    if content.startswith(PNG):
        told = content[12:16] == b"IHDR" and len(content) >= 24
        return struct.unpack(">II", content[16:24]) if told else (0, 0)
    place = 2
    while place + 9 <= len(content) and content[place] == _MARK:
        kind, length = struct.unpack(">BH", content[place + 1 : place + 4])
        if kind in _FRAMES:
            height, width = struct.unpack(">HH", content[place + 5 : place + 9])
            return width, height
        place += 1 if kind == _MARK else 2 + length  # marker bytes may be repeated
    return 0, 0


def profile_size(content: bytes) -> int:
    """Return the size [bytes] of the compressed color profile in a PNG, or 0 if it has none."""
    place = 8 if content.startswith(PNG) else len(content)
    while place + 8 <= len(content):
        (length,), kind = (
            struct.unpack(">I", content[place : place + 4]),
            content[place + 4 : place + 8],
        )
        if kind == _PROFILE:
            return length
        place += 12 + length
    return 0
