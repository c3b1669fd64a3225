"""Calculate the price that a customer pays for an installation.

Each amount is taken from the job's ``[cost]`` if it is given there, otherwise from the company, and
otherwise from the usual values for the life-cycle cost. The price is firm if no amount is a range.
Otherwise, the customer is quoted a not-to-exceed total: the sum of the upper limits, rounded up.
Hours that the user entered are charged as entered. Extra time for modifications is added only to
assumed hours.
"""

from dataclasses import dataclass
from math import ceil

from airover.business.costs import completed
from airover.business.life_cost import ADAPT_HOURS, BELLY_BAND
from airover.core.intervals import Band
from airover.records.company import EVERYTHING, Company, CostBasis
from airover.selection.check import ADAPT
from airover.selection.rules import Candidate

PARTS = ("motor", "materials")  # lines with a markup
LABOUR = ("labour_rate", "labour_hours", "visit_price")  # replaced by a flat rate
STEP = 5  # a not-to-exceed total is a multiple of this, in any currency


@dataclass(frozen=True)
class Price:
    """Price of an installation.

    Attributes
    ----------
    lines : dict[str, Band]
        Amounts of money by item: "motor", "materials", "labour", "visit", "flat", "permit" and
        "tax".
    hours : Band or None
        Hours charged, or None for a flat rate.
    has_band : bool
        True if the materials include a belly band.
    """

    lines: dict[str, Band]
    currency: str
    hours: Band | None
    has_band: bool

    @property
    def sum(self) -> Band:
        """Sum of the lines, calculated by adding their limits."""
        return Band(*(round(sum(ends), 2) for ends in zip(*self.lines.values(), strict=True)))

    @property
    def is_firm(self) -> bool:
        return self.sum.low == self.sum.high

    @property
    def total(self) -> float:
        """Firm or not-to-exceed total."""
        return self.sum.high if self.is_firm else float(STEP * ceil(self.sum.high / STEP))


def price(candidate: Candidate, cost: CostBasis, company: Company) -> Price | None:
    """Return the price of installing a motor, or None for a motor without a price in the catalog.

    Parameters
    ----------
    cost : CostBasis
        Cost basis of the job as entered.

    Raises
    ------
    InputError
        If the currency differs from the catalog's currency, or if an amount of money cannot be
        assumed in that currency.
    """
    motor = candidate.case.motor
    if motor.price is None:
        return None
    entered = company.cost_basis(cost)
    whole = completed(entered, motor.currency)
    adapted = {check.name for check in candidate.having(ADAPT)}
    has_band = not adapted.isdisjoint(BELLY_BAND)
    bands = [whole.belly_band_price] if has_band else []
    markup = 1 + _share(company.markup)
    lines = {
        "motor": _money(markup * motor.price for _ in range(3)),
        "materials": _money(markup * end for end in _sum(whole.capacitor_price, *bands)),
    }
    hours = None
    if company.flat_rate is not None and not any(getattr(cost, name) for name in LABOUR):
        lines["flat"] = _money(_ends(company.flat_rate))
    else:
        extra = 0.0 if entered.labour_hours else sum(ADAPT_HOURS.get(x, 0.0) for x in adapted)
        hours = Band(*(end + extra for end in _ends(whole.labour_hours)))
        pairs = zip(_ends(whole.labour_rate), hours, strict=True)
        lines["labour"] = _money(rate * time for rate, time in pairs)
        lines["visit"] = _money(_ends(whole.visit_price))
    if company.permit is not None:
        lines["permit"] = _money(_ends(company.permit))
    if company.tax is not None:
        taxed = lines if company.tax_on == EVERYTHING else PARTS
        ends = zip(*(lines[name] for name in taxed), strict=True)
        lines["tax"] = _money(_share(company.tax) * sum(amounts) for amounts in ends)
    return Price(lines, motor.currency, hours, has_band)


def _share(amount) -> float:
    return 0.0 if amount is None else amount.mid


def _ends(amount) -> tuple[float, float, float]:
    return amount.low, amount.mid, amount.high


def _sum(*amounts):
    return [sum(ends) for ends in zip(*map(_ends, amounts), strict=True)]


def _money(ends) -> Band:
    """Return a Band of money rounded to cents."""
    return Band(*(round(float(end), 2) for end in ends))
