"""What a life cost is counted with, completed by usual figures; each noted with its origin."""

from airover.bands import Band
from airover.climate.season import Season
from airover.cost.failures import PARTS
from airover.errors import InputError
from airover.message import Message, Money, Quantity
from airover.motor.conditions import Input
from airover.records import CatalogueMotor, CostBasis
from airover.units import Amount, quoted

# Invented, in US dollars: what is taken where the user says nothing.
USUAL = {
    "horizon": "15 years",
    "motor_life": "5-25 years",  # common practice, no source
    "energy_price": "0.12-0.24 USD/kWh",
    "labour_rate": "85-135 USD/h",
    "labour_hours": "1.5-2.5 h",
    "capacitor_hours": "0.5-1 h",
    "visit_price": "60-120 USD",
    "second_visits": "15-45 %",
    "discount_rate": "1-4 %",
    "capacitor_price": "12-30 USD",
    "belly_band_price": "12-25 USD",
}
NOT_DRAWN = ("horizon", "motor_life")
SERVICE_EITHER_SIDE = 1.25  # of an experience that is written as one number, own judgement
SHELF_MONTHS = 6.0  # from a motor's making to its fitting, own judgement
_CURRENCY = "USD"
# Kinds of quantity of a basis that are neither money nor years.
_KINDS = {
    "labour_hours": "working_time", "capacitor_hours": "working_time", "second_visits": "share",
    "discount_rate": "yearly_rate",
}  # fmt: skip
_YEARS = ("horizon", "motor_life")


def completed(basis: CostBasis, currency: str) -> CostBasis:
    """The ``basis`` with usual figures where it says nothing; a catalogue's ``currency`` rules.

    Raises InputError for money in another currency, and for money left open where the currency is
    not the US dollar of the usual figures.
    """
    if basis.currency and basis.currency != currency:
        given = Message("cost.refused.money_in", currency=basis.currency)
        raise InputError("cost", given, Message("cost.refused.as_catalogue", currency=currency))
    given = {name: amount.text for name, amount in basis if amount is not None}
    for name, text in USUAL.items():
        if name not in given and _CURRENCY in text and currency != _CURRENCY:
            accepted = Message("cost.refused.money_like", currency=currency, text=quoted(text))
            raise InputError(f"cost {_words(name)}", Message("cost.refused.nothing"), accepted)
    return CostBasis(**(USUAL | given))


def service(whole: CostBasis) -> Band:
    """Years that half of such motors reach, by experience; the middle is the geometric one."""
    low, high = (end / 12 for end in (whole.motor_life.low, whole.motor_life.high))
    if not whole.motor_life.is_range:
        low, high = low / SERVICE_EITHER_SIDE, high * SERVICE_EITHER_SIDE
    return Band(low, (low * high) ** 0.5, high)


def term(motor: CatalogueMotor) -> float | None:
    """Months from its installation for which a motor is replaced free; None if not in the catalog.

    A term that runs from manufacture is counted from SHELF_MONTHS after it.
    """
    fitted, made = motor.warranty_from_installation, motor.warranty_from_manufacture
    ends = [] if fitted is None else [fitted]
    if made is not None:
        ends.append(max(made - SHELF_MONTHS, 0.0))
    return min(ends, default=None)


def noted(basis: CostBasis, whole: CostBasis, season: Season, motors) -> tuple[Input, ...]:
    """Every input with its origin. ``basis`` as given, ``whole`` as completed; ``motors`` are pairs
    of a CatalogueMotor and its Yearly."""
    found = [
        _noted(name, amount, getattr(basis, name) is not None)
        for name, amount in whole
        if amount is not None
    ]
    design = Quantity(season.temp_design, "air_temperature")
    running = Message("cost.running", hours=Quantity(season.total, "count"), design=design)
    found.append(Input("running", running, "assumed", Message("cost.assumed.running")))
    laws = Message("cost.weibull")
    found.append(Input("how failures scatter", laws, "assumed", Message("cost.assumed.scatter")))
    for motor, year in motors:
        found += _noted_motor(motor, year)
    return tuple(found)


def written(name: str, value: float | Amount, unit: str) -> Message | Quantity | Money:
    """A ``value`` in ``unit`` of the field ``name`` of a CostBasis, for texts."""
    if name in _YEARS:
        return years(Band(*(end / 12 for end in (value.low, value.mid, value.high))))
    return Quantity(value, _KINDS[name]) if name in _KINDS else Money(value, unit)


def years(count: float | Band) -> Message:
    """Years, for texts: "1 year", "5 to 25 years"."""
    if isinstance(count, Band) and count.low == count.high:
        count = count.mid
    if not isinstance(count, Band) and f"{count:.2g}" == "1":
        return Message("years.one")
    return Message("years.many", count=Quantity(count, "two_digits"))


def _noted(name: str, amount: Amount, given: bool) -> Input:
    shown = written(name, amount, amount.unit)
    if given:
        return Input(_words(name), shown, "given")
    return Input(_words(name), shown, "assumed", Message("cost.assumed.usual"))


def _noted_motor(motor: CatalogueMotor, year) -> list[Input]:
    months, why = term(motor), Message("cost.assumed.warranty_shelf")
    origin = "catalogue"
    if months is None:
        months, origin, why = 0.0, "assumed", Message("cost.assumed.no_warranty")
    notes = [Input("warranty", _months(months), origin, why, motor.name)]
    if year.bearing is not None:
        both = years(year.lives["bearing"])
        why = Message("cost.assumed.bearing_alone", alone=years(year.bearing))
        notes.append(Input("bearing life", both, "assumed", why, motor.name))
    for part in (part for part in PARTS if part in year.assumed):
        why = Message(f"cost.assumed.{part}")
        notes.append(Input(f"{part} life", years(year.lives[part]), "assumed", why, motor.name))
    return notes


def _months(count: float) -> Message:
    if round(count) == 1:
        return Message("months.one")
    return Message("months.many", count=Quantity(count, "count"))


def _words(name: str) -> str:
    return name.replace("_", " ")
