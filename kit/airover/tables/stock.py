"""A stock and a cross-reference as tables (pandas), in the language and units of a Writer."""

import pandas as pd

from airover.choose import DOES_NOT_FIT
from airover.choose.check import ADAPT, MISSING
from airover.matching.crossref import Entry, Fitting
from airover.records import Nameplate
from airover.stock.study import StockStudy, mean_ends
from airover.texts import Writer

ENDS = ("first", "short", "counter", "ordered", "none")  # of a call, the best first
SHOWN = ("voltage", "power", "current", "speed_rpm", "capacitor")  # of a nameplate, in this order
ROW = ("plate", "motor", "rating", "verdict", "chance", "adapt", "find out", "capacitor", "price")


def load_list(found: StockStudy, write: Writer | None = None) -> pd.DataFrame:
    """What to load on the truck and keep at the counter, one row for each item."""
    return _frame(found, write, _line, found.load_list())


def on_truck(found: StockStudy, write: Writer | None = None) -> pd.DataFrame:
    """What to load on each truck."""
    return _frame(found, write, _on_truck, [one for one in found.load_list() if one["truck"]])


def at_counter(found: StockStudy, write: Writer | None = None) -> pd.DataFrame:
    """What to keep at the counter, what is asked for most first."""
    kept = [one for one in found.load_list() if one["counter"]]
    kept.sort(key=lambda one: -one["asked_a_year"])
    return _frame(found, write, _at_counter, kept)


def _line(line: dict, write: Writer) -> dict:
    return {"item": write.value(line["item"]), "each_truck": line["truck"]} | _counter(line)


def _at_counter(line: dict, write: Writer) -> dict:
    return {"item": write.value(line["item"])} | _counter(line)


def _counter(line: dict) -> dict:
    price, asked = f"{line['price']:.0f}", f"{line['asked_a_year']:.1f}"
    return {"at_counter": line["counter"], "price": price, "asked": asked}


def _on_truck(line: dict, write: Writer) -> dict:
    return {
        "truck": line["truck"],
        "item": write.value(line["item"]),
        "price_of_one": f"{line['price']:.0f}",
        "volume_of_one": write.amount(line["volume_m3"], "volume", 2),
    }


def ends(found: StockStudy, write: Writer | None = None) -> pd.DataFrame:
    """How calls end, in forecast and replay: means in per cent of the calls."""
    write = write or Writer()
    confirmed = found.confirmed
    shares = {"forecast": confirmed.forecasts, "replayed": confirmed.replays}
    columns = {"ends": [write(f"stock.end.{end}") for end in ENDS]}
    for name, seasons in shares.items():
        means = mean_ends(seasons)
        columns[name] = [f"{100 * means[end]:.1f}" for end in ENDS]
    return pd.DataFrame(columns).rename(columns=lambda name: write(f"stock.column.{name}"))


def curve(found: StockStudy, write: Writer | None = None) -> pd.DataFrame:
    """Money against calls fixed, with all motors and with those of one rating only."""
    plans = [("all", plan) for plan in found.plans] + [("single", one) for one in found.single]
    return _frame(found, write, _curve, plans)


def _curve(choice_and_plan, write: Writer) -> dict:
    choice, plan = choice_and_plan
    return {
        "choice": write(f"stock.choice.{choice}"),
        "money": f"{plan.money:.0f}",
        "carried": int(plan.units[: plan.goods.motors].sum()),
        "fresh": f"{100 * plan.fresh:.1f}",
        "planned": f"{100 * plan.fixed:.1f}",
        "bound": f"{100 * plan.bound:.1f}",
    }


def next_motors(found: StockStudy, write: Writer | None = None) -> pd.DataFrame:
    """What to add next, and why."""

    def row(one, write: Writer) -> dict:
        shares = {"gain": f"{100 * one.gain:.1f}", "money": f"{one.money:.0f}"}
        return {"motor": found.names[one.motor], **shares, "why": write(one.why)}

    return _frame(found, write, row, found.next, ("motor", "gain", "money", "why"))


def _frame(found: StockStudy, write: Writer | None, row, things, columns=None) -> pd.DataFrame:
    """A row for each of ``things``; columns are keys of stock.column."""
    write = write or Writer()
    frame = pd.DataFrame([row(one, write) for one in things], columns=columns)
    return frame.rename(columns=lambda key: write(f"stock.column.{key}", currency=found.currency))


def crossref(entries, write: Writer | None = None) -> pd.DataFrame:
    """A row for each nameplate and motor that fits it."""
    write = write or Writer()
    rows = [row for entry in entries for row in crossref_rows(entry, write)]
    frame = pd.DataFrame(rows, columns=list(ROW)).fillna("")
    return frame.rename(columns=lambda key: write(f"crossref.column.{key}"))


def nameplate_line(plate: Nameplate, write: Writer) -> str:
    """The nameplate in one line, with the words of the list."""
    amounts = [getattr(plate, name) for name in SHOWN]
    words = [amount.text for amount in amounts if amount is not None]
    if plate.frame:
        words.append(write("crossref.frame", frame=plate.frame))
    if plate.kind:
        words.append(plate.kind)
    return ", ".join(words) or write("crossref.unread")


def crossref_rows(entry: Entry, write: Writer) -> list[dict[str, str]]:
    """A line for each motor by the names of ROW, or one that says why there is none."""
    plate = nameplate_line(entry.job.nameplate, write)
    if entry.fitting:
        return [_fitting(plate, one, write) for one in entry.fitting]
    refused = entry.refused
    why = write("crossref.no_motor") if refused is None else write.error(refused)
    return [{"plate": plate, "motor": "", "verdict": _verdict(DOES_NOT_FIT, write), "adapt": why}]


def _fitting(plate: str, one: Fitting, write: Writer) -> dict[str, str]:
    candidate, motor = one.candidate, one.candidate.case.motor
    chance = write("crossref.unknown_chance")
    if one.chance is not None:
        chance = write("crossref.chance", share=f"{100 * one.chance:.0f}")
    return {
        "plate": plate,
        "motor": motor.name,
        "rating": write.amount(candidate.case.rating, "power"),
        "verdict": _verdict(candidate.verdict, write),
        "chance": chance,
        "adapt": _whys(candidate.having(ADAPT), write),
        "find out": _whys(candidate.having(MISSING), write),
        "capacitor": ""
        if motor.capacitor is None
        else write.amount(motor.capacitor, "capacitance"),
        "price": "" if motor.price is None else f"{motor.price:.0f} {motor.currency}",
    }


def _verdict(verdict: str, write: Writer) -> str:
    return write(f"answer.verdict.{verdict}")


def _whys(checks, write: Writer) -> str:
    return " ".join(write(check.why) for check in checks)
