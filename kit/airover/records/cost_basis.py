"""What a life cost is counted with: years, prices, hours of work, as people write them."""

import re
from collections.abc import Iterator
from typing import Annotated

from pydantic import PlainValidator, ValidationInfo

from airover.errors import InputError
from airover.message import Message
from airover.records.fields import Record, amount
from airover.units import Amount, parse_number, quoted

LONGEST_TEXT = 60
HIGHEST = 1e7  # of any currency's unit
MOST_YEARS = 40
SHORTEST_LIFE = 3  # months
_NUMBER = r"[0-9][0-9.,]*|\.[0-9]+"
_MONEY = re.compile(
    rf"(?P<low>{_NUMBER})(?:\s*(?:-|\u2013|to\b)\s*(?P<high>{_NUMBER}))?"
    r"\s*(?P<currency>[A-Z]{3})(?:\s*(?:/|per\b)\s*(?P<per>[A-Za-z]+))?"
)
_EXAMPLES = {"": "85 USD", "h": "95 USD/h", "kWh": "0.16 USD/kWh"}
_PER = {"": "", "h": "h", "hr": "h", "hour": "h", "kwh": "kWh"}


def read_money(text: object, per: str, field: str) -> Amount:
    """The Amount that ``text`` tells, such as "0.16 USD/kWh" or "85-110 USD/h".

    ``per`` is "h", "kWh" or empty. The unit begins with the currency, three capital letters.
    Raises InputError naming ``field`` for a text without a currency, per something else, with high
    before low, or above ten million.

    >>> read_money("0.12-0.16 USD/kWh", "kWh", "energy price").unit
    'USD/kWh'
    """
    unit = f"XXX/{per}" if per else "XXX"
    accepted = Message("error.money.accepted", example=_EXAMPLES[per], unit=unit)
    found = None
    if isinstance(text, str) and len(text) <= LONGEST_TEXT:
        found = _MONEY.fullmatch(text.strip())
    if not found or _PER.get((found["per"] or "").lower()) != per:
        raise InputError(field, quoted(text), accepted)
    ends = [parse_number(found[end]) for end in ("low", "high") if found[end]]
    if None in ends or ends[0] > ends[-1] or ends[-1] > HIGHEST:
        most = Message("error.money.most", accepted=accepted, most=f"{HIGHEST:.0f}")
        raise InputError(field, quoted(text), most)
    return Amount(ends[0], ends[-1], unit.replace("XXX", found["currency"]), text.strip())


def money(per: str = ""):
    """The type of a field that holds money, or money ``per`` hour "h" or "kWh", or nothing."""

    def validate(value, info: ValidationInfo):
        if value is None:
            return None
        text = value.text if isinstance(value, Amount) else value
        return read_money(text, per, info.field_name.replace("_", " "))

    return Annotated[Amount | None, PlainValidator(validate)]


class CostBasis(Record):
    """What the user says of money and time; unknown fields are None, all money in one currency.

    ``horizon`` in months, whole years from 1 to 40. ``motor_life`` [months] that half of such
    motors reach in such units, by the user's own books. ``labour_hours`` [h] to exchange a motor,
    ``capacitor_hours`` [h] for a capacitor alone. ``visit_price`` for coming out once;
    ``second_visits`` the share of motor failures that take two. ``discount_rate`` a year, above
    inflation. ``lost_cooling`` what a failure costs the customer besides. Ranges are welcome.
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

    @property
    def currency(self) -> str:
        """Three letters, or nothing where no money is given."""
        return self._moneys()[0][1].unit[:3] if self._moneys() else ""

    @property
    def years(self) -> int | None:
        """The horizon in years."""
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
        """The fields that hold money, by their name in words."""
        given = ((name.replace("_", " "), value) for name, value in self)
        return [(name, one) for name, one in given if one and re.match("[A-Z]{3}", one.unit)]
