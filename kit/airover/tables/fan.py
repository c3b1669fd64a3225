"""One fan at its place, as tables (pandas), in the language and units of their Writer."""

import pandas as pd

from airover.bands import Band
from airover.message import Message, Quantity
from airover.sizing.at_place import CompressorPrice, Sized
from airover.sizing.motors import DirtSweep, Tried
from airover.texts import Writer


def sizing(found: Sized, writer: Writer) -> pd.DataFrame:
    """The rating for the duty with the ratings beside it, and how far each is loaded."""
    size, worst = found.size, found.overload
    needed, duty = float(size.needed.mid), float(found.bands["power_shaft_w"].mid)
    rows = [
        (
            rating.text,
            f"{rating.power:.0f}",
            _percent(duty / rating.power),
            _percent(needed / rating.power),
            _percent(worst.largest.mid / rating.power),
            writer(f"fan.rating.{_result(rating, found)}"),
        )
        for rating in filter(None, (size.smaller, size.standard, size.larger))
    ]
    names = ("motor", "rating_w", "duty", "margin", "whole", "result")
    return pd.DataFrame(rows, columns=[_column(writer, name) for name in names])


def _result(rating, found: Sized) -> str:
    if rating is found.size.smaller:
        return "small"
    if rating.power < found.overload.largest.mid:
        return "overloaded"
    return "next" if rating is found.size.standard else "whole"


def speeds(found: Sized, writer: Writer) -> pd.DataFrame:
    """The fan on the same system at the speeds of six and of eight poles."""
    rows = []
    for step in found.speeds:
        bands = step.bands
        sound = f"{step.sound:+.0f}" if step.sound else writer("fan.speed.same")
        row = {
            "rpm": f"{step.speed_rpm:.0f}",
            "flow": writer.amount(bands["flow_m3s"].mid, "flow"),
            "pressure": writer.amount(bands["pressure_pa"].mid, "pressure"),
            "watts": _watts(bands["power_shaft_w"]),
            "torque": _bare(writer, bands["torque_nm"].mid, "torque"),
            "motor": step.standard.text,
            "sound": sound if rows else writer("fan.speed.first"),
        }
        rows.append(row)
    return _headed(rows, writer, torque="torque")


def motors(tried: tuple[Tried, ...], writer: Writer) -> pd.DataFrame:
    """The ratings of a catalog on this duty."""
    rows = []
    for one in tried:
        row = {"rating": one.rating.text, "motor": writer("fan.motor.none")}
        if one.motor is not None:
            row |= {
                "motor": one.motor.name,
                "amps": _between(one.bands["current_a"], 2, writer),
                "rated_amps": f"{one.motor.currents[-1]:g}",
                "watts_in": _between(one.bands["power_in_w"], 0, writer),
                "rpm": _between(one.bands["speed_rpm"], 0, writer),
                "load": _percent(one.load.mid),
                "winding": _temp(one.bands["temp_winding_c"], writer),
                "starts": _percent(one.chance_of_start),
            }
        rows.append(row)
    return _headed(rows, writer, winding="temperature")


def dirt(
    sweep: DirtSweep, prices: tuple[CompressorPrice | None, ...], writer: Writer
) -> pd.DataFrame:
    """One row for each state of the coil; columns of the compressor where its heat is known."""
    rows = []
    for step, price in zip(sweep.steps, prices, strict=True):
        bands, key = step.bands, "given" if step.dirt == 1 else "times"
        row = {
            "resistance": writer(f"fan.dirt.{key}", times=step.dirt),
            "airflow": _bare(writer, bands["flow_m3s"].mid, "flow"),
            "watts": _watts(bands["power_shaft_w"]),
            "amps": _between(bands["current_a"], 2, writer),
            "air": _temp(bands["temp_air_c"], writer),
            "winding": _temp(bands["temp_winding_c"], writer),
        }
        if price is not None:
            row["condensing"] = _temp(price.condensing, writer)
            row["extra"] = _more(price, writer)
        rows.append(row)
    degrees = dict.fromkeys(("air", "winding", "condensing"), "temperature")
    return _headed(rows, writer, airflow="flow", **degrees)


def asks(found: Sized, writer: Writer) -> pd.DataFrame:
    """Facts to measure, the most important first."""
    rows = [(writer(ask.advice), writer(_purpose(ask.share))) for ask in found.asks]
    columns = [_column(writer, name) for name in ("measure", "purpose")]
    return pd.DataFrame(rows, index=range(1, len(rows) + 1), columns=columns)


def _purpose(share: float) -> Message:
    if not share:
        return Message("fan.measure.other")
    return Message("fan.measure.share", share=Quantity(share, "share", 0))


def _headed(rows: list[dict], writer: Writer, **kinds: str) -> pd.DataFrame:
    """Rows by the names of their columns, under headings; ``kinds`` are those with units."""
    frame = pd.DataFrame(rows).fillna("")
    return frame.rename(columns=lambda name: _column(writer, name, kinds.get(name, "")))


def _column(writer: Writer, name: str, kind: str = "") -> str:
    return writer(f"fan.column.{name}", unit=writer.unit(kind) if kind else "")


def _more(price: CompressorPrice, writer: Writer) -> str:
    more = "0" if not price.extra.high else _between(price.extra, 0, writer)
    return writer("fan.dirt.more", more=more) if price.switches_off else more


def _between(band: Band, decimals: int, writer: Writer) -> str:
    low, high = (f"{end:.{decimals}f}" for end in (band.low, band.high))
    return low if low == high else writer.texts("to", low=low, high=high)


def _watts(band: Band) -> str:
    return f"{band.mid:.0f}"


def _temp(band: Band, writer: Writer) -> str:
    return f"{writer.number(float(band.mid), 'temperature'):.0f}"


def _bare(writer: Writer, value, kind: str) -> str:
    """An amount without its unit, which stands in the heading."""
    return writer.amount(value, kind).removesuffix(f" {writer.unit(kind)}")


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
