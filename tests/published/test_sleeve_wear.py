"""Wear of sleeve bearings against Shigley's bushing, in his units, and the limits of PV."""

import pytest

from airover.physics import sleeve_running

SHIGLEY = "Shigley, Mechanical Engineering Design, boundary-lubricated bushing, "
UNSURE = "from memory, not verified"
INCH, POUND, FOOT, MINUTE, HOUR = 0.0254, 4.4482216, 0.3048, 60.0, 3600.0
PSI = POUND / INCH**2

# Brass bushing, 1 in bore and length, 700 lbf, 33 ft/min, 0.005 in to wear; K 0.6e-10
# in3 min/(lbf ft h), 1.3 times that for his motion. At its deepest the pressure is 4/pi of the mean.
DEPTH, SPEED = 0.005 * INCH, 33 * FOOT / MINUTE
PRESSURE = 4 / 3.14159265 * 700 * PSI
WEAR = 1.3 * 0.6e-10 * INCH / (PSI * FOOT / MINUTE * HOUR)
HOURS = 2180  # printed with three figures


def test_life_of_a_bushing(book):
    ours = sleeve_running.wear_life(DEPTH, WEAR, PRESSURE, SPEED)
    book.agrees("hours to wear 0.005 in", ours, HOURS, within=1e-3, source=SHIGLEY + UNSURE)


def test_wear_seen_on_a_bushing(book):
    ours = sleeve_running.wear_coefficient_seen(HOURS, DEPTH, PRESSURE, SPEED)
    item = "K of a bushing that lasted 2180 h, 1e-17 m2/N"
    book.agrees(item, 1e17 * ours, 1e17 * WEAR, within=1e-3, source=SHIGLEY + UNSURE)
    # of the same order as what is taken for oiled bronze
    assert sleeve_running.WEAR_COEFFICIENT[0] < ours < sleeve_running.WEAR_COEFFICIENT[1]


@pytest.mark.parametrize("lambda_ratio", [0.0, 2.99])
def test_speed_of_a_bore_that_always_rubs(book, lambda_ratio):
    # V = pi D N / 12 ft/min: 33 at 126.05 rpm
    ours = sleeve_running.rubbing(1 * INCH, 126.05, lambda_ratio, 0.0, 0.0) / (FOOT / MINUTE)
    item = f"1 in bore at 126.05 rpm, lambda {lambda_ratio:g}, ft/min"
    book.agrees(item, ours, 33.000, within=3e-5, source=SHIGLEY + UNSURE)


@pytest.mark.parametrize("starts", [0.0, 4.0])
def test_a_full_film_rubs_at_starts_alone(book, starts):
    # 8 turns of a 1/2 in shaft at each start: 0.31919 m
    ours = 3600 * sleeve_running.rubbing(0.5 * INCH, 1075.0, 3.0, 8.0, starts)
    source = "lambda 3 and more: full film, any handbook; turns by hand"
    item = f"sliding distance in an hour with {starts:g} starts at lambda 3, m"
    book.agrees(item, ours, starts * 0.319186, within=3e-6, source=source)


def test_pressure_times_speed(book):
    # W / (D L) times pi D N / 12: 2.618 W N / (10 L) psi ft/min
    ours = sleeve_running.sleeve_pv(4.5 * POUND, 1075.0, 0.5 * INCH, 0.75 * INCH)
    ours /= PSI * FOOT / MINUTE
    source = SHIGLEY + "PV = pi W N / (12 L), from memory, recomputed"
    item = "PV of 4.5 lbf, 1075 rpm, 1/2 x 3/4 in, psi ft/min"
    # five figures by hand
    book.agrees(item, ours, 1688.6, within=3e-5, source=source)


def test_most_of_pressure_times_speed(book):
    # the bearing above: 1688.6 of 50 000 psi ft/min, and of 10 000 at a thrust face
    pv = sleeve_running.sleeve_pv(4.5 * POUND, 1075.0, 0.5 * INCH, 0.75 * INCH)
    source = "porous bronze, 50 000 psi ft/min, a fifth of it for thrust faces, " + UNSURE
    for name, most, printed in (
        ("a porous sleeve", sleeve_running.PV_SLEEVE, 0.033772),
        ("a thrust face", sleeve_running.PV_WASHER, 0.16886),
    ):
        # rounded to three figures in SI
        book.agrees(f"PV over the limit of {name}", pv / most, printed, within=2e-3, source=source)
