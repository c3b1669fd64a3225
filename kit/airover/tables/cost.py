"""Life cost as tables (pandas): the motors on offer side by side, and what was counted with."""

import pandas as pd

from airover.cost.life_cost import LifeCost, LifeCosts, cheaper, difference
from airover.cost.options import money_text


def options(costs: list[LifeCost], currency: str, years: int) -> pd.DataFrame:
    """One row for each of ``costs``, the first measured against: bands hold 9 cases of 10."""
    first = costs[0]
    over = f"over {years} years [{currency}]"
    rows = [
        {
            "motor": cost.name,
            "fit": cost.candidate.verdict,
            f"today [{currency}]": money_text(float(cost.today.mean())),
            over: f"{money_text(cost.mean)} ({_ends(cost.band)})",
            "costs less than the first": _share(cost, first),
            f"less the first's [{currency}]": _apart(cost, first),
            "failures": f"{sum(cost.failures.values()):.1f}",
            "nothing fails": f"in {100 * cost.untroubled:.0f} of 100",
            "electricity [kWh a year]": _ends(cost.energy),
        }
        for cost in costs
    ]
    return pd.DataFrame(rows)


def counted_with(costed: LifeCosts, costs: list[LifeCost]) -> pd.DataFrame:
    """Every input of money, years and lives with its origin; of the motors, those in ``costs``."""
    left_out = {cost.name for cost in costed.costs} - {cost.name for cost in costs}
    shown = [one for one in costed.inputs if not one.name.endswith(tuple(left_out))]
    return pd.DataFrame([one._asdict() for one in shown])


def _share(cost: LifeCost, first: LifeCost) -> str:
    return "" if cost is first else f"in {100 * cheaper(cost, first):.0f} of 100"


def _apart(cost: LifeCost, first: LifeCost) -> str:
    return "" if cost is first else _ends(difference(cost, first))


def _ends(band) -> str:
    return f"{money_text(band.low, digits=2)} to {money_text(band.high, digits=2)}"
