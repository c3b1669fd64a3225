"""Priors of ``identify``: what such motors usually have, and how far a nameplate may be off.

Kept apart as data, so that they can be read, doubted and changed in one place. Impedances and
losses are engineering judgment and common practice, no source. Nameplate errors lean on:

- NEMA MG 1, 12.47: at rated voltage and power, input amps within 10 % of the nameplate's (quoted
  on public pages; the standard itself not opened). UL 1004-1: at most 110 % of the marked amps
  (from memory, not verified).
- IEC 60034-1, table of tolerances: slip +-20 %, below 1 kW +-30 %; efficiency -15 % of (1 - eta)
  up to 150 kW; power factor -1/6 (1 - cos phi); locked-rotor current +20 %, breakdown torque
  -10 %, locked-rotor torque -15/+25 % (read as quoted in a public gearmotor manual). NEMA MG 1,
  12.46: slip +-20 % (as quoted by T. Bishop, "How Precise Are Motor Nameplate Ratings?", 2013).

Makers print amps with a margin, so nameplate amps are more often high than low (common practice,
no source); and 1075 or 825 rpm name a class, not the speed of this motor.
"""

from typing import NamedTuple

import numpy as np


class Usual(NamedTuple):
    """Centre of a log-normal prior and its standard deviation in the logarithm."""

    centre: float
    spread: float

    def at(self, deviates):
        return self.centre * np.exp(self.spread * deviates)

    def deviates(self, value):
        """Standard deviations of a positive ``value`` from the center, in the logarithm."""
        return np.log(np.maximum(value, np.finfo(float).tiny) / self.centre) / self.spread

    def log_density(self, value):
        """Of positive values; what is not positive is as unlikely as a float can say."""
        return -0.5 * self.deviates(value) ** 2


# Impedances over rated volts / amps.
R1 = Usual(0.12, 0.40)
X1 = Usual(0.108, 0.42)
X2_TO_X1 = Usual(1.0, 0.35)
TURNS_RATIO = Usual(1.2, 0.18)
R_AUX_TO_R1 = Usual(1.2, 0.30)  # both per turn squared
X_AUX_TO_X1 = Usual(1.0, 0.20)  # both per turn squared
R2_PER_SLIP = Usual(2.3, 0.30)  # rotor resistance goes with the rated slip
XM = Usual(1.3, 0.35)
CORE_SHARE = Usual(0.10, 0.40)  # of the rated power
FRICTION_SHARE = Usual(0.015, 0.40)  # of the rated power
X_CAPACITOR = Usual(2.9, 0.20)  # where the nameplate's microfarads cannot be read
SLIP_RATED = Usual(0.10, 0.18)  # where its rpm cannot be read
EFFICIENCY_TIMES_POWER_FACTOR = Usual(0.53, 0.11)  # where its amps or its power cannot be read
POWER_FACTOR = Usual(0.92, 0.06)
BREAKDOWN_TORQUE = Usual(1.7, 0.22)  # over rated torque
VOLTAGE_CAPACITOR = Usual(1.55, 0.15)  # over line voltage

PRODUCT_POSSIBLE = (0.2, 0.85)  # efficiency times power factor of printed figures that can be true
TAPPED_BELOW = 1.2  # capacitor's over line voltage: below, a tap of the main winding feeds it
TAPPED_ABOVE = 300.0  # V of line: above, it may

AMPS_PRINTED = Usual(1.02, 0.065)  # nameplate over true amps at the rating: 0.92 to 1.14
AMPS_ROUNDED = 0.029  # A: a nameplate in tenths
SLIP_PRINTED = Usual(0.97, 0.15)  # true slip at the rating over the nameplate's
SLIP_LEAST = 0.01
SKIN = (0.0, 0.2)  # share by which the cage's resistance grows at line frequency
CAPACITOR_USED = 0.95  # usual share of its marked voltage at the rating, where that is the limit
CAPACITOR_VOLTAGE_READ = 0.04  # how far it may lie above what the capacitor is made for
SATURATION_SHARE = (0.05, 0.45)
SATURATION_EXPONENT = (4.0, 8.0)
SATURATION_KNEE = (0.80, 1.05)  # air-gap voltage at the rating over the one that saturation names
TEMP_WINDING_PLATE = (70.0, 100.0)  # degC: a nameplate is true of the hot motor

# What a reading in the field is taken to be worth: standard deviations, common practice.
CURRENT_METER = 0.015  # as a share
POWER_METER = 0.02  # as a share
VOLTAGE_METER = 0.01  # as a share, of the capacitor's voltage
TACHOMETER = 0.003  # as a share: about 3 rpm
