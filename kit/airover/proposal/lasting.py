"""What is said of how long a motor lasts, what it costs beside others, and its warranty."""

import datetime

from airover.cost.life_cost import LifeCost, LifeCosts, cheaper
from airover.cost.options import decides
from airover.order.warranty import Cover, cover
from airover.proposal.offered import Option
from airover.proposal.said import Said
from airover.records import CatalogueMotor, Dates, Span

LONGEST_YEARS = 40  # beyond, "more than" says enough


def life(option: Option, costs: LifeCosts | None, said: Said) -> dict:
    """Years of each part over a year of weather; without a life cost hours at design heat."""
    texts = said.texts
    items = _hours(option, said) if option.cost is None else _years(option, costs, said)
    if costs is not None:
        items.append(_counted(costs, said))
    return {"title": texts("life.title"), "items": [*items, texts("life.note")]}


def _counted(costs: LifeCosts, said: Said) -> str:
    """What the cost over the years counts, and at which price and rate."""
    basis = costs.basis
    energy, rate = (said.typed(one.text) for one in (basis.energy_price, basis.discount_rate))
    return said.texts("life.counted", years=costs.horizon, energy=energy, rate=rate)


def _years(option: Option, costs: LifeCosts, said: Said) -> list[str]:
    texts, year = said.texts, option.cost.yearly
    hours = f"{round(year.hours, -1):,.0f}"
    key = "winding_assumed" if "winding" in year.assumed else "winding"
    items = [texts("life.meaning")]
    items.append(texts(f"life.{key}", span=_span(year.lives["winding"], said), hours=hours))
    known = {"bearing": option.motor.bearings, "capacitor": "years"}
    for part, worked in known.items():
        origin = "assumed" if part in year.assumed else worked
        items.append(texts(f"life.{part}_{origin}", span=_span(year.lives[part], said)))
    return [*items, _repairs(option.cost, costs.horizon, said)]


def _repairs(cost: LifeCost, years: int, said: Said) -> str:
    """How often something fails: who reads of short lives beside a long horizon has to know."""
    most = max(cost.failures, key=cost.failures.get)
    return said.texts(
        "life.repairs",
        years=years,
        count=f"{sum(cost.failures.values()):.2g}",
        part=said.texts(f"life.part_{most}"),
        share=f"{100 * cost.untroubled:.0f}",
    )


def _span(band, said: Said) -> str:
    """Years from and to: whole ones, and none longer than anybody can promise."""
    more = said.texts("life.more", years=LONGEST_YEARS)
    ends = (band.low, band.high)
    low, high = (more if years > LONGEST_YEARS else f"{years:.0f}" for years in ends)
    if band.low < 1:
        low = said.texts("life.less")
    if band.high < 1:
        return low
    return low if low == high else said.texts("to", low=low, high=high)


def _hours(option: Option, said: Said) -> list[str]:
    texts, hours = said.texts, option.case.winding_life.hours
    if hours is None:
        return [texts("life.hours_unknown")]
    return [texts("life.hours", low=said.hours(hours.low), high=said.hours(hours.high))]


def reason(first: Option, costs: LifeCosts | None, said: Said) -> list[str]:
    """Why the first: what it costs over the years, beside the best of all others."""
    if first.cost is None:
        return []
    key, own = "only", first.cost
    values = {"cost": said.money_about(own.mean, own.currency), "years": costs.horizon,
              "motor": own.name}  # fmt: skip
    other = next((cost for cost in costs.costs if cost is not own), None)
    if other is not None:
        share = cheaper(own, other)
        key = _key(first, share, own.mean <= other.mean) if decides(own, other) else "near"
        share = max(share, 1 - share)  # how often the one that is named as cheaper is so
        apart = said.money_about(abs(own.mean - other.mean), own.currency)
        values |= {"other": other.name, "apart": apart, "share": f"{100 * share:.0f}"}
    return [said.texts(f"reason.{key}", **values)]


def _key(first: Option, share: float, less: bool) -> str:
    """Which words tell how the first stands beside the other: ``share`` as `life_cost.cheaper`, and
    whether it costs ``less`` on average."""
    if share > 0.5:
        return "less" if less else "mixed"
    if less:
        return "seldom"
    return "plain" if "best" in first.why else "chosen"


def chance(first: Option, option: Option, said: Said) -> str:
    """In how many of a hundred futures an option costs less than the first, where that decides."""
    known = None not in (first.cost, option.cost)
    if option is first or not known or not decides(option.cost, first.cost):
        return ""
    share = f"{100 * cheaper(option.cost, first.cost):.0f}"
    return said.texts("options.share", share=share)


def warranty(motor: CatalogueMotor, dates: Dates, today: datetime.date, said: Said) -> dict:
    """The maker's terms, and the day they end if installed ``today`` (or on the job's day)."""
    texts, known = said.texts, dates.installed
    if known is None:
        known = Span(today, today, today.isoformat())
        if dates.manufactured is not None and dates.manufactured.first > today:
            known = dates.manufactured
        dates = dates.model_copy(update={"installed": known})
        when = texts("warranty.if_installed", date=texts.date(known.first))
    else:
        when = texts("warranty.installed", date=texts.date(known.first))
    found = cover(motor, dates)
    items = [texts("warranty.unknown")]
    if found.last is not None:
        items = [_terms(motor, said), *_rule(found, said), *_ending(found, when, said)]
    return {"title": texts("warranty.title"), "items": [*items, texts("warranty.terms")]}


def _terms(motor: CatalogueMotor, said: Said) -> str:
    put_in, made = motor.warranty_from_installation, motor.warranty_from_manufacture
    if put_in is None:
        return said.texts("warranty.manufacture", months=said.months(made))
    if made is None:
        return said.texts("warranty.installation", months=said.months(put_in))
    return said.texts("warranty.both", months=said.months(put_in), made=said.months(made))


def _rule(found: Cover, said: Said) -> list[str]:
    if None in (found.from_manufacture, found.from_installation):
        return []
    assumed = "" if found.stated else "_assumed"
    return [said.texts(f"warranty.{found.rule}{assumed}")]


def _ending(found: Cover, when: str, said: Said) -> list[str]:
    """When the cover ends, as far as it can be told."""
    texts = said.texts
    first, last = (end and texts.date(end) for end in (found.last.first, found.last.last))
    if first is None and last is None:
        return [texts("warranty.open")]
    both = "exact" if first == last else "between"
    key = both if first and last else "least" if first else "most"
    said_of_end = [texts(f"warranty.{key}", when=when, first=first, last=last)]
    if found.made_since is not None:
        said_of_end.append(texts("warranty.since", since=texts.date(found.made_since)))
    return said_of_end
