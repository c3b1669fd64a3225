"""Life cost as tables (pandas): the motors on offer side by side, and what was counted with.

Texts are in the language and units of a ``writer``; None writes English and US units.
"""

import pandas as pd

from airover.cost.life_cost import LifeCost, LifeCosts, cheaper, difference
from airover.tables.answer import input_table
from airover.texts import Writer


def options(
    costs: list[LifeCost], currency: str, years: int, writer: Writer | None = None
) -> pd.DataFrame:
    """One row for each of ``costs``, the first measured against: bands hold 9 cases of 10."""
    writer = writer or Writer()
    table = pd.DataFrame([_row(cost, costs[0], writer) for cost in costs])
    titles = {"currency": currency, "years": years}
    return table.rename(columns=lambda name: writer(f"cost.table.{name}", **titles))


def counted_with(
    costed: LifeCosts, costs: list[LifeCost], writer: Writer | None = None
) -> pd.DataFrame:
    """Every input of money, years and lives with its origin; of the motors, those in ``costs``."""
    shown = {"", *(cost.name for cost in costs)}
    return input_table([one for one in costed.inputs if one.motor in shown], writer or Writer())


def _row(cost: LifeCost, first: LifeCost, writer: Writer) -> dict[str, str]:
    low, _, high = (writer.money(end, digits=2) for end in cost.band)
    apart = "" if cost is first else writer.money(difference(cost, first), digits=2)
    return {
        "motor": cost.name,
        "fit": writer(f"answer.verdict.{cost.candidate.verdict}"),
        "today": writer.money(float(cost.today.mean())),
        "over": writer("cost.table.range", mean=writer.money(cost.mean), low=low, high=high),
        "share": "" if cost is first else _of_100(cheaper(cost, first), writer),
        "less": apart,
        "failures": f"{sum(cost.failures.values()):.1f}",
        "untroubled": _of_100(cost.untroubled, writer),
        "energy": writer.amount(cost.energy, "two_digits"),
    }


def _of_100(share: float, writer: Writer) -> str:
    return writer("cost.table.of_100", share=f"{100 * share:.0f}")
