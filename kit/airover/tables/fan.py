"""One blade at its place, as tables (pandas)."""

import pandas as pd

from airover.bands import Band
from airover.sizing.at_place import Price, Sized
from airover.sizing.motors import DirtSweep, Tried
from airover.units import convert, show

# The unit that stands in a heading is that of what ``show`` writes.
_DEGREES = {"US": "degF", "SI": "degC"}
_FLOWS = {"US": "cfm", "SI": "m3/s"}


def sizing(found: Sized) -> pd.DataFrame:
    """What is asked, the rating above it, and the ratings beside that."""
    size, worst = found.size, found.overload
    needed = float(size.needed.mid)
    rows = []
    for rating in filter(None, (size.smaller, size.standard, size.larger)):
        duty = float(found.bands["power_shaft_w"].mid)
        rows.append(
            {
                "motor": rating.text,
                "rating [W]": f"{rating.power:.0f}",
                "duty over rating": _percent(duty / rating.power),
                "with 10 % in hand": _percent(needed / rating.power),
                "whole curve, at most": _percent(worst.largest.mid / rating.power),
                "result": _word(rating, found),
            }
        )
    return pd.DataFrame(rows)


def _word(rating, found: Sized) -> str:
    if rating is found.size.smaller:
        return "too small"
    if rating.power < found.overload.largest.mid:
        return "the next above; overloaded somewhere on the curve"
    return "the next above" if rating is found.size.standard else "carries the whole curve"


def speeds(found: Sized) -> pd.DataFrame:
    """The blade on the same system at the speeds of six and of eight poles."""
    rows = [
        {
            "rpm": f"{step.speed_rpm:.0f}",
            "airflow": found.show(step.bands["flow_m3s"].mid, "flow"),
            "static pressure": found.show(step.bands["pressure_pa"].mid, "pressure"),
            "shaft watts": _watts(step.bands["power_shaft_w"]),
            "torque [N m]": f"{step.bands['torque_nm'].mid:.2f}",
            "motor": step.standard.text,
            "sound [dB]": f"{step.sound:+.0f}" if step.sound else "as now",
        }
        for step in found.speeds
    ]
    rows[0]["sound [dB]"] = "compared with"
    return pd.DataFrame(rows)


def motors(tried: tuple[Tried, ...], shown: str) -> pd.DataFrame:
    """The ratings of a catalogue on this duty; ``shown`` is "US" or "SI"."""
    rows = []
    for one in tried:
        row = {"rating": one.rating.text, "motor": "none in the catalogue"}
        if one.motor is not None:
            row |= {
                "motor": one.motor.name,
                "amps": _between(one.bands["current_a"], 2),
                "plate's amps": f"{one.motor.currents[-1]:g}",
                "watts in": _between(one.bands["power_in_w"], 0),
                "rpm": _between(one.bands["speed_rpm"], 0),
                "shaft power over rating": _percent(one.load.mid),
                f"winding [{_DEGREES[shown]}]": _temp(one.bands["temp_winding_c"], shown),
                "starts": _percent(one.chance_of_start),
            }
        rows.append(row)
    return pd.DataFrame(rows).fillna("")


def dirt(sweep: DirtSweep, prices: tuple[Price | None, ...], shown: str) -> pd.DataFrame:
    """One row for each state of the coil; columns of the compressor where its heat is known."""
    rows = []
    for step, price in zip(sweep.steps, prices, strict=True):
        bands = step.bands
        row = {
            "coil's resistance": "as given" if step.dirt == 1 else f"{step.dirt:g} times",
            f"airflow [{_FLOWS[shown]}]": _flow(bands["flow_m3s"], shown),
            "shaft watts": f"{bands['power_shaft_w'].mid:.0f}",
            "amps": _between(bands["current_a"], 2),
            f"air at motor [{_DEGREES[shown]}]": _temp(bands["temp_air_c"], shown),
            f"winding [{_DEGREES[shown]}]": _temp(bands["temp_winding_c"], shown),
        }
        if price is not None:
            row |= {
                f"condensing [{_DEGREES[shown]}]": _temp(price.condensing, shown),
                "compressor more [kWh a year]": _more(price),
            }
        rows.append(row)
    return pd.DataFrame(rows).fillna("")


def asks(found: Sized) -> pd.DataFrame:
    """What else to measure, the most important first."""
    rows = [{"measure": ask.sentence, "what for": _share(ask.share)} for ask in found.asks]
    return pd.DataFrame(rows, index=range(1, len(rows) + 1), columns=["measure", "what for"])


def _share(share: float) -> str:
    return f"{share:.0%} of what is open in the shaft power" if share else "another figure"


def _more(price: Price) -> str:
    more = "0" if not price.extra.high else _between(price.extra, 0)
    return f"{more}, and it may switch off" if price.switches_off else more


def _between(band: Band, decimals: int) -> str:
    ends = dict.fromkeys(f"{end:.{decimals}f}" for end in (band.low, band.high))
    return " to ".join(ends)


def _watts(band: Band) -> str:
    return f"{band.mid:.0f}"


def _flow(band: Band, shown: str) -> str:
    return f"{convert(float(band.mid), 'flow', _FLOWS[shown]):.{0 if shown == 'US' else 2}f}"


def _temp(band: Band, shown: str) -> str:
    return show(float(band.mid), "temperature", shown, 0).split()[0]


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
