"""Facts beside hours that decide between ball and sleeve bearings: noise, price, handling."""

from typing import NamedTuple

import numpy as np

from airover.bearings.life import TRANSPORT_SHOCK
from airover.records import CatalogueMotor


class Prices(NamedTuple):
    """Usual price of like motors with each kind of bearing; None where there is none."""

    ball: float | None
    sleeve: float | None
    currency: str


def prices(motor: CatalogueMotor, catalogue) -> Prices:
    """Middle prices in ``catalogue`` of motors with the rating, poles and volts of ``motor``."""
    alike = [
        one for one in catalogue
        if one.price is not None and one.currency == motor.currency and one.phase == motor.phase
        and one.poles == motor.poles and one.ratings[-1] == motor.ratings[-1]
        and one.voltage_high == motor.voltage_high
    ]  # fmt: skip
    found = {
        kind: [one.price for one in alike if one.bearings == kind] for kind in ("ball", "sleeve")
    }
    return Prices(
        *(float(np.median(each)) if each else None for each in found.values()), motor.currency
    )


def notes(safety: float, usual_prices: Prices) -> list[str]:
    """Sentences, common practice unless a rule is named; ``safety`` S0 of a ball bearing in a
    transport shock, ISO 76; ``usual_prices`` as from prices."""
    return [
        (
            "Noise: a good sleeve bearing runs quieter than a ball bearing. A worn sleeve bearing "
            "knocks, a worn ball bearing whines."
        ),
        _price(usual_prices),
        (
            "Oil: a wick or porous bronze feeds less oil than a full film needs. Half of the samples "
            "have enough oil, half are starved. A vertical shaft loses oil faster than a "
            "horizontal one."
        ),
        (
            f"Transport: a shock of {TRANSPORT_SHOCK:.0f} times gravity on rotor and fan leaves a "
            f"ball bearing a static safety of {safety:.1f} (ISO 76; at least 1.5 for shocks). Carry "
            "the motor without its fan."
        ),
        (
            "Standstill: wind that rocks the fan, or a truck's ride, marks the raceways of ball "
            "bearings that do not turn (false brinelling). Turn a stored motor by hand; tie the "
            "fan for transport."
        ),
        (
            "Electricity: on ordinary line supply bearing currents are small; behind an inverter "
            "they are not. When you weld, clamp next to the weld so that no current passes "
            "through the motor."
        ),
    ]


def _price(price: Prices) -> str:
    if price.ball is None or price.sleeve is None:
        return "Price: the catalog has no like motors with both kinds of bearing."
    more = price.ball - price.sleeve
    return (
        f"Price: like motors cost {price.ball:.0f} {price.currency} with ball and "
        f"{price.sleeve:.0f} {price.currency} with sleeve bearings, {abs(more):.0f} "
        f"{'more' if more >= 0 else 'less'} (catalog)."
    )
