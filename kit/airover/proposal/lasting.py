"""What is said of how long a motor lasts, what it costs beside others, and its warranty."""

import datetime

from airover.cost.life_cost import LifeCost, LifeCosts, cheaper
from airover.cost.options import decides
from airover.order.warranty import Cover, cover
from airover.proposal.offered import Option
from airover.records import CatalogueMotor, Dates, Span
from airover.texts import LONGEST_YEARS, Writer


def life(option: Option, costs: LifeCosts | None, writer: Writer) -> dict:
    """Years of each part over a year of weather; without a life cost hours at design heat."""
    items = _hours(option, writer) if option.cost is None else _years(option, costs, writer)
    if costs is not None:
        items.append(_counted(costs, writer))
    return {"title": writer("life.title"), "items": [*items, writer("life.note")]}


def _counted(costs: LifeCosts, writer: Writer) -> str:
    """What the cost over the years counts, and at which price and rate."""
    energy, rate = costs.basis.energy_price, costs.basis.discount_rate
    return writer(
        "life.counted",
        years=costs.horizon,
        energy=writer.money(energy, energy.unit),
        rate=writer.amount(rate, "yearly_rate"),
    )


def _years(option: Option, costs: LifeCosts, writer: Writer) -> list[str]:
    year = option.cost.yearly
    hours = f"{round(year.hours, -1):,.0f}"
    key = "winding_assumed" if "winding" in year.assumed else "winding"
    items = [writer("life.meaning")]
    items.append(writer(f"life.{key}", span=_span(year.lives["winding"], writer), hours=hours))
    known = {"bearing": option.motor.bearings, "capacitor": "years"}
    for part, worked in known.items():
        origin = "assumed" if part in year.assumed else worked
        items.append(writer(f"life.{part}_{origin}", span=_span(year.lives[part], writer)))
    return [*items, _repairs(option.cost, costs.horizon, writer)]


def _repairs(cost: LifeCost, years: int, writer: Writer) -> str:
    """How often something fails: who reads of short lives beside a long horizon has to know."""
    most = max(cost.failures, key=cost.failures.get)
    return writer(
        "life.repairs",
        years=years,
        count=f"{sum(cost.failures.values()):.2g}",
        part=writer(f"life.part_{most}"),
        share=f"{100 * cost.untroubled:.0f}",
    )


def _span(band, writer: Writer) -> str:
    """Years from and to: whole ones, and none longer than anybody can promise."""
    more = writer("life.more", years=LONGEST_YEARS)
    ends = (band.low, band.high)
    low, high = (more if years > LONGEST_YEARS else f"{years:.0f}" for years in ends)
    if band.low < 1:
        low = writer("life.less")
    if band.high < 1:
        return low
    return low if low == high else writer("to", low=low, high=high)


def _hours(option: Option, writer: Writer) -> list[str]:
    hours = option.case.winding_life.hours
    if hours is None:
        return [writer("life.hours_unknown")]
    return [
        writer(
            "life.hours",
            low=writer.amount(hours.low, "two_digits"),
            high=writer.amount(hours.high, "two_digits"),
        )
    ]


def reason(first: Option, costs: LifeCosts | None, writer: Writer) -> list[str]:
    """Why the first: what it costs over the years, beside the best of all others."""
    if first.cost is None:
        return []
    key, own = "only", first.cost
    values = {"cost": writer.money(own.mean, own.currency, 2), "years": costs.horizon,
              "motor": own.name}  # fmt: skip
    other = next((cost for cost in costs.costs if cost is not own), None)
    if other is not None:
        share = cheaper(own, other)
        key = _key(first, share, own.mean <= other.mean) if decides(own, other) else "near"
        share = max(share, 1 - share)  # how often the one that is named as cheaper is so
        apart = writer.money(abs(own.mean - other.mean), own.currency, 2)
        values |= {"other": other.name, "apart": apart, "share": f"{100 * share:.0f}"}
    return [writer(f"reason.{key}", **values)]


def _key(first: Option, share: float, less: bool) -> str:
    """Which words tell how the first stands beside the other: ``share`` as `life_cost.cheaper`, and
    whether it costs ``less`` on average."""
    if share > 0.5:
        return "less" if less else "mixed"
    if less:
        return "seldom"
    return "plain" if "best" in first.why else "chosen"


def chance(first: Option, option: Option, writer: Writer) -> str:
    """In how many of a hundred futures an option costs less than the first, where that decides."""
    known = None not in (first.cost, option.cost)
    if option is first or not known or not decides(option.cost, first.cost):
        return ""
    share = f"{100 * cheaper(option.cost, first.cost):.0f}"
    return writer("options.share", share=share)


def warranty(motor: CatalogueMotor, dates: Dates, today: datetime.date, writer: Writer) -> dict:
    """The maker's terms, and the day they end if installed ``today`` (or on the job's day)."""
    known = dates.installed
    if known is None:
        known = Span(today, today, today.isoformat())
        if dates.manufactured is not None and dates.manufactured.first > today:
            known = dates.manufactured
        dates = dates.model_copy(update={"installed": known})
        when = writer("warranty.if_installed", date=writer.value(known.first))
    else:
        when = writer("warranty.installed", date=writer.value(known.first))
    found = cover(motor, dates)
    items = [writer("warranty.unknown")]
    if found.last is not None:
        items = [_terms(motor, writer), *_rule(found, writer), *_ending(found, when, writer)]
    return {"title": writer("warranty.title"), "items": [*items, writer("warranty.terms")]}


def _terms(motor: CatalogueMotor, writer: Writer) -> str:
    put_in, made = motor.warranty_from_installation, motor.warranty_from_manufacture
    if put_in is None:
        return writer("warranty.manufacture", months=writer.months(made))
    if made is None:
        return writer("warranty.installation", months=writer.months(put_in))
    return writer("warranty.both", months=writer.months(put_in), made=writer.months(made))


def _rule(found: Cover, writer: Writer) -> list[str]:
    if None in (found.from_manufacture, found.from_installation):
        return []
    assumed = "" if found.stated else "_assumed"
    return [writer(f"warranty.{found.rule}{assumed}")]


def _ending(found: Cover, when: str, writer: Writer) -> list[str]:
    """When the cover ends, as far as it can be told."""
    first, last = (end and writer.value(end) for end in (found.last.first, found.last.last))
    if first is None and last is None:
        return [writer("warranty.open")]
    both = "exact" if first == last else "between"
    key = both if first and last else "least" if first else "most"
    said_of_end = [writer(f"warranty.{key}", when=when, first=first, last=last)]
    if found.made_since is not None:
        said_of_end.append(writer("warranty.since", since=writer.value(found.made_since)))
    return said_of_end
