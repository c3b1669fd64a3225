"""Questions on fitting, causes, cost and stock, and the values of usual slips."""

from typing import NamedTuple

import numpy as np

from airover.bayes import posterior
from airover.lesson.worked import Worked
from airover.order.steps import LOW_END
from airover.records.rotation import LEAD_END, from_shaft_end
from airover.stock.demand import newsvendor

WATTS_PER_KW = 1000.0


class Weeks(NamedTuple):
    """In how many of 100 weeks 0, 1, 2, 3 calls ask for a thing, added up from 0 on."""

    up_to: np.ndarray

    def ppf(self, share: float) -> int:
        """The smallest number of calls not exceeded in that share of the weeks."""
        return int(np.searchsorted(self.up_to / self.up_to[-1], share))


def from_the_shaft(rotation) -> str:
    """Key of the option: the rotation as seen from the shaft end, read from the lead end."""
    return from_shaft_end(rotation, LEAD_END)


def plug_out(position) -> str:
    """Key of the option: the end whose drain plug comes out."""
    return LOW_END[position]


def cut_off(shaft_old, shaft_new) -> Worked:
    """How much of a shaft [m] is cut off."""
    return Worked(shaft_new - shaft_old, {"kept": shaft_old, "added": shaft_new + shaft_old})


def cause_chance(common_one, common_two, seen_one, seen_two) -> Worked:
    """Chance of the first of two causes after a finding."""
    prior, seen = [common_one, common_two], [[seen_one, seen_two]]
    slips = {
        "no_prior": seen_one / (seen_one + seen_two),
        "no_finding": common_one / (common_one + common_two),
        "likelihood": seen_one / 100,
    }
    both = (common_one * seen_one / 100, ""), (common_two * seen_two / 100, "")
    value = float(posterior(prior, seen)[0])
    return Worked(value, slips, {"first": both[0], "second": both[1]})


def energy_money(watts_old, watts_new, hours, price) -> Worked:
    """Money a year for the watts that a motor takes less, at ``price`` for a kWh."""
    spared = (watts_old - watts_new) / WATTS_PER_KW * hours
    slips = {"thousand": spared * price * WATTS_PER_KW, "no_price": spared,
             "whole": watts_new / WATTS_PER_KW * hours * price}  # fmt: skip
    return Worked(spared * price, slips, {"energy": (spared, "")})


def units_to_carry(none, one, two, gain, cost) -> Worked:
    """Motors on a truck for a week where a call served gains and one left over costs."""
    law = Weeks(np.cumsum([none, one, two, 100 - none - one - two]))
    ratio = gain / (gain + cost)
    shown = {"ratio": (100 * ratio, ""), "up_to_one": (none + one, ""),
             "up_to_two": (none + one + two, "")}  # fmt: skip
    return Worked(float(newsvendor(law, gain, cost)), {"none": 0.0, "most": 3.0}, shown)


ANSWERS = (from_the_shaft, plug_out, cut_off, cause_chance, energy_money, units_to_carry)
