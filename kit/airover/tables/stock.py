"""A stock and a cross-reference as tables (pandas)."""

import pandas as pd

from airover.stock.study import Study, mean_ends
from airover.texts import Writer
from airover.units import show

ENDS = {
    "first": "fixed at the first visit",
    "short": "carried, but used up",
    "counter": "second visit, motor from the counter",
    "ordered": "second visit, motor ordered",
    "none": "no motor of the catalogue does",
}


def load_list(found: Study) -> pd.DataFrame:
    """What to load on the truck and keep at the counter, one row for each thing."""
    rows = [
        {
            "item": line["item"],
            "on each truck": line["truck"],
            "at the counter": line["counter"],
            f"price [{found.currency}]": f"{line['price']:.0f}",
            "asked for in a year": f"{line['asked_a_year']:.1f}",
        }
        for line in found.load_list()
    ]
    return pd.DataFrame(rows)


def on_truck(found: Study, system: str) -> pd.DataFrame:
    """What to load on each truck; the room in the units of ``system``, "US" or "SI"."""
    rows = [
        {
            "on the truck": line["truck"],
            "item": line["item"],
            f"price of one [{found.currency}]": f"{line['price']:.0f}",
            "room of one": show(line["volume_m3"], "volume", system, 2),
        }
        for line in found.load_list()
        if line["truck"]
    ]
    return pd.DataFrame(rows)


def at_counter(found: Study) -> pd.DataFrame:
    """What to keep at the counter, what is asked for most first."""
    table = load_list(found)
    kept = table[table["at the counter"] > 0].drop(columns="on each truck")
    order = kept["asked for in a year"].astype(float).sort_values(ascending=False, kind="stable")
    return kept.loc[order.index]


def ends(found: Study) -> pd.DataFrame:
    """How calls end, in forecast and replay: means in per cent of the calls."""
    confirmed = found.confirmed
    shares = {
        "forecast [%]": mean_ends(confirmed.forecasts),
        "replay of the year held out [%]": mean_ends(confirmed.replays),
    }
    columns = {name: [f"{100 * one[end]:.1f}" for end in ENDS] for name, one in shares.items()}
    return pd.DataFrame({"a call ends": list(ENDS.values()), **columns})


def curve(found: Study) -> pd.DataFrame:
    """Money against calls fixed, with all motors and with those of one rating only."""
    kinds = (("all motors", found.plans), ("one rating only", found.single))
    rows = [
        {
            "motors to choose from": words,
            f"money [{found.currency}]": f"{plan.money:.0f}",
            "motors carried": int(plan.units[: plan.goods.motors].sum()),
            "fixed of other calls [%]": f"{100 * plan.fresh:.1f}",
            "of those planned by [%]": f"{100 * plan.fixed:.1f}",
            "any plan, at most [%]": f"{100 * plan.bound:.1f}",
        }
        for words, plans in kinds
        for plan in plans
    ]
    return pd.DataFrame(rows)


def next_motors(found: Study) -> pd.DataFrame:
    """What to add next, and why."""
    rows = [
        {
            "motor": found.names[one.motor],
            "more calls fixed [%]": f"{100 * one.gain:.1f}",
            f"money [{found.currency}]": f"{one.money:.0f}",
            "why": one.why,
        }
        for one in found.next
    ]
    return pd.DataFrame(rows, columns=["motor", "more calls fixed [%]",
                                       f"money [{found.currency}]", "why"])  # fmt: skip


def crossref(entries, writer: Writer | None = None) -> pd.DataFrame:
    """A row for each plate and motor that fits it."""
    columns = ("plate", "motor", "rating", "verdict", "chance", "adapt", "find out", "capacitor",
               "price")  # fmt: skip
    rows = [row for entry in entries for row in entry.rows(writer or Writer())]
    return pd.DataFrame(rows, columns=list(columns)).fillna("")
