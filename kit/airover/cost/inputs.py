"""What a life cost is counted with, completed by usual figures; each noted with its origin."""

from airover.bands import Band
from airover.climate.season import Season
from airover.cost.failures import PARTS
from airover.errors import InputError
from airover.motor.conditions import Input
from airover.records import CatalogueMotor, CostBasis
from airover.units import show

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
_ASK = {
    "winding": "its insulation class",
    "bearing": "the kind and size of its bearings",
    "capacitor": "the voltage of its capacitor",
}


def completed(basis: CostBasis, currency: str) -> CostBasis:
    """The ``basis`` with usual figures where it says nothing; a catalogue's ``currency`` rules.

    Raises InputError for money in another currency, and for money left open where the currency is
    not the US dollar of the usual figures.
    """
    if basis.currency and basis.currency != currency:
        raise InputError("cost", f"money in {basis.currency}", f"{currency}, as in the catalogue")
    given = {name: amount.text for name, amount in basis if amount is not None}
    for name, text in USUAL.items():
        if name not in given and _CURRENCY in text and currency != _CURRENCY:
            accepted = f'money in {currency}, written like "{text}" (usual figures are in USD)'
            raise InputError(f"cost {_words(name)}", "nothing", accepted)
    return CostBasis(**(USUAL | given))


def service(whole: CostBasis) -> Band:
    """Years that half of such motors reach, by experience; the middle is the geometric one."""
    low, high = (end / 12 for end in (whole.motor_life.low, whole.motor_life.high))
    if not whole.motor_life.is_range:
        low, high = low / SERVICE_EITHER_SIDE, high * SERVICE_EITHER_SIDE
    return Band(low, (low * high) ** 0.5, high)


def term(motor: CatalogueMotor) -> tuple[float, str]:
    """Months from its fitting for which a motor is replaced free, and how that is known."""
    fitted, made = motor.warranty_from_installation, motor.warranty_from_manufacture
    if fitted is None and made is None:
        return 0.0, "not in the catalogue: none is counted"
    ends = [] if fitted is None else [fitted]
    if made is not None:
        ends.append(max(made - SHELF_MONTHS, 0.0))
    return min(ends), "catalogue; taken to be fitted 6 months after it was made"


def noted(basis: CostBasis, whole: CostBasis, season: Season, motors, system: str):
    """Every input with its origin. ``basis`` as given, ``whole`` as completed; ``motors`` are pairs
    of a CatalogueMotor and its Yearly; ``system`` "US" or "SI" for texts."""
    found = [
        _noted(name, amount.text, getattr(basis, name) is not None)
        for name, amount in whole
        if amount is not None
    ]
    design = show(season.temp_design, "air_temperature", system)
    hours = f"{season.total:.0f} h a year, all of the hour from {design} on"
    found.append(Input("running", hours, "assumed", "from a year of weather and a cooling line"))
    why = "own judgement; bearings as grease ages"
    found.append(Input("how failures scatter", "Weibull laws", "assumed", why))
    for motor, year in motors:
        found += _noted_motor(motor, year)
    return tuple(found)


def _noted(name: str, text: str, given: bool) -> Input:
    why = "" if given else "not given; invented usual figure"
    return Input(_words(name), text, "given" if given else "assumed", why)


def _noted_motor(motor: CatalogueMotor, year) -> list[Input]:
    months, why = term(motor)
    origin = "catalogue" if "catalogue;" in why else "assumed"
    notes = [Input(f"warranty of {motor.name}", f"{months:.0f} months", origin, why)]
    if year.bearing is not None:
        alone, both = (_range(band) for band in (year.bearing, year.lives["bearing"]))
        why = f"{alone} worked out alone; what such motors last counts as evidence beside it"
        notes.append(Input(f"bearing life of {motor.name}", both, "assumed", why))
    for part in (part for part in PARTS if part in year.assumed):
        why = f"not worked out: ask for {_ASK[part]}; own judgement"
        name = f"{part} life of {motor.name}"
        notes.append(Input(name, _range(year.lives[part]), "assumed", why))
    return notes


def _range(band) -> str:
    return f"{band.low:.2g} to {band.high:.2g} years"


def _words(name: str) -> str:
    return name.replace("_", " ")
