"""Ball bearings against ISO 281, Shigley's examples and Booser's grease line."""

import numpy as np
import pytest

from airover.physics import ball_bearing as bb

SHIGLEY = "Shigley, Mechanical Engineering Design, "
ISO_281 = "ISO 281:2007, "
MEMORY, UNSURE = "from memory, recomputed", "from memory, not verified"
QUOTED = "as an open bearing program repeats the standard; quoted"
PRINTED = 3e-5  # five printed figures


def test_shigley_example_11_1(book):
    # C10 is printed with four figures: 2e-4 in load, three times that in life
    ours = bb.rating_life(3211.0, 400.0, 1725.0)
    source = SHIGLEY + "example 11-1, " + MEMORY
    book.agrees("life at C10 3211, P 400 lbf, 1725 rpm, h", ours, 5000, within=6e-4, source=source)


def test_shigley_example_11_3(book):
    # His own three-parameter Weibull factor at 99 %; approximate form, four figures
    factor = 0.02 + (4.459 - 0.02) * (1 - 0.99) ** (1 / 1.483)
    ours = bb.rating_life(6696.0, 1.2 * 413.0, 300.0, factor)
    source = SHIGLEY + "example 11-3, approximate form, " + UNSURE
    book.agrees("life at C10 6696 lbf, R 0.99, h", ours, 30000, within=6e-4, source=source)
    # ISO's own distribution gives a1 0.25 where his gives 0.22: they are not mixed here
    assert bb.reliability_factor(0.99) / factor == pytest.approx(1.14, abs=0.01)


def test_a_million_turns_at_the_load_rating(book):
    turns = 60 * 1075 * bb.rating_life(9560.0, 9560.0, 1075.0)
    source = ISO_281 + "definition of the load rating C"
    # the standard's own definition
    book.agrees("revolutions at P = C", turns, 1e6, within=1e-12, source=source)


def test_modified_life(book):
    # 0.64 for 95 %, aISO of kappa 1 and eC Cu/P 0.1; ten times the load rating over the load
    ours = bb.rating_life(9560.0, 956.0, 1000.0, a1=0.64, a_iso=2.4305)
    source = ISO_281 + "Lnm = a1 aISO (C/P)^3 million turns, " + MEMORY
    item = "Lnm at C/P 10, 1000 rpm, a1 0.64, aISO 2.4305, h"
    # 0.64 x 2.4305 x 1e9 / 60000
    book.agrees(item, ours, 25925.333, within=1e-7, source=source)


A1 = {0.90: 1.0, 0.95: 0.64, 0.96: 0.55, 0.97: 0.47, 0.98: 0.37, 0.99: 0.25}


@pytest.mark.parametrize("reliability", A1)
def test_reliability_factor(book, reliability):
    ours = bb.reliability_factor(reliability)
    source = ISO_281 + "table of a1, " + MEMORY
    # the table itself; the older two-parameter .62 .53 .44 .33 .21 would fail
    book.agrees(f"a1 at {reliability}", ours, A1[reliability], within=1e-9, source=source)


@pytest.mark.parametrize("reliability", [0.91, 0.93, 0.955, 0.975, 0.985, 0.995, 0.9975, 0.9995])
def test_reliability_factor_by_its_distribution(book, reliability):
    weibull = np.log(1 / reliability) / np.log(1 / 0.9)
    book.agrees(
        f"a1 at {reliability} in closed form",
        bb.reliability_factor(reliability),
        0.95 * weibull ** (1 / 1.5) + 0.05,
        within=0.015,  # the table is rounded to two places: up to 0.005 in 0.36 to 0.6
        source=ISO_281 + "three-parameter Weibull of a1, " + MEMORY,
        road=("ball_bearing", "table of a1 between its rows"),
    )


AXIAL = [
    (0.172, 0.19, 2.30),
    (0.345, 0.22, 1.99),
    (0.689, 0.26, 1.71),
    (1.03, 0.28, 1.55),
    (1.38, 0.30, 1.45),
    (2.07, 0.34, 1.31),
    (3.45, 0.38, 1.15),
    (5.17, 0.42, 1.04),
    (6.89, 0.44, 1.00),
]


@pytest.mark.parametrize(("relative", "limit", "factor"), AXIAL)
def test_equivalent_load_at_each_row(book, relative, limit, factor):
    axial = relative * 4500 / 13.0
    ours = bb.equivalent_load(axial / (2 * limit), axial, 4500.0, 13.0)
    source = ISO_281 + "table of e and Y, radial groove, " + MEMORY
    published = 0.56 * axial / (2 * limit) + factor * axial
    item = f"P at f0 Fa/C0 {relative}, Fa/Fr 2e, N"
    book.agrees(item, ours, published, within=1e-9, source=source)  # the table itself
    # at and below e the thrust does not count
    assert bb.equivalent_load(axial / (limit * 0.99), axial, 4500.0, 13.0) == axial / (limit * 0.99)


def test_combined_load(book):
    source = ISO_281 + "e and Y between rows by straight lines, recomputed"
    load = bb.equivalent_load(0.15, 0.15, 4.5, 13.1)
    book.agrees("P at Fa = Fr = 0.15 kN, kN", load, 0.37131, within=PRINTED, source=source)
    life = bb.rating_life(9.56, load, 1075.0)
    book.agrees("L10h at Fa = Fr = 0.15 kN, h", life, 264613, within=1e-5, source=source)


SIZES = {
    10: (30, 9, 5.07, 2.24),
    12: (32, 10, 6.89, 3.10),
    15: (35, 11, 7.80, 3.55),
    17: (40, 12, 9.56, 4.50),
    20: (47, 14, 12.7, 6.20),
    25: (52, 15, 14.0, 6.95),
}


@pytest.mark.parametrize("bore", SIZES)
def test_bearing_sizes(book, bore):
    size = bb.DEEP_GROOVE_02[bore]
    ours = [x * 1000 for x in size[1:3]] + [x / 1000 for x in size[3:]]
    names = ("outside diameter, mm", "width, mm", "C10, kN", "C0, kN")
    source = SHIGLEY + "table 11-2, " + MEMORY
    for name, mine, printed in zip(names, ours, SIZES[bore]):
        item = f"02 series, bore {bore} mm, {name}"
        book.agrees(item, mine, printed, within=1e-9, source=source)  # copied
    source = "mean of bore and outside diameter (ISO 15, dimension series 02), " + MEMORY
    pitch, printed = 1000 * size.diameter_pitch, (bore + SIZES[bore][0]) / 2
    item = f"02 series, bore {bore} mm, pitch diameter, mm"
    # by its making, from the bore that the table is asked for
    book.agrees(item, pitch, printed, within=1e-9, source=source)


# Balls of usual bearings of these sizes (number, diameter in mm), and the standards' factors over
# Dw / Dpw. Bearings of other makers have other balls: C and C0 follow within some per cent.
BALLS = {
    10: (8, 4.762),
    12: (7, 5.953),
    15: (8, 5.953),
    17: (8, 6.747),
    20: (8, 7.938),
    25: (9, 7.938),
}
FACTORS = np.array(
    [
        (0.20, 59.9, 14.0),
        (0.22, 59.6, 13.5),
        (0.24, 59.0, 13.0),
        (0.26, 58.2, 12.5),
        (0.28, 57.1, 12.1),
    ]
)  # Dw/Dpw, fc of ISO 281 (as the open program repeats it), f0 of ISO 76 (from memory)


@pytest.mark.parametrize("bore", BALLS)
def test_load_ratings_by_their_balls(book, bore):
    size, (balls, ball) = bb.DEEP_GROOVE_02[bore], BALLS[bore]
    share = ball / (1000 * size.diameter_pitch)
    fc, f0 = (np.interp(share, FACTORS[:, 0], FACTORS[:, i]) for i in (1, 2))
    item = f"02 series, bore {bore} mm, "
    source = "ISO 281, C = 1.3 fc Z^(2/3) Dw^1.8, usual balls, " + UNSURE
    theirs = 1.3 * fc * balls ** (2 / 3) * ball**1.8
    # balls to the nearest 1/64 in
    book.agrees(item + "C by its balls, N", size.load_rating, theirs, within=0.03, source=source)
    source = "ISO 76, C0 = f0 Z Dw^2, usual balls, " + UNSURE
    # Shigley's C0 are those of an older rule: up to 12 % lower, the safe side
    theirs = f0 * balls * ball**2
    ours = size.load_rating_static
    book.agrees(item + "C0 by its balls, N", ours, theirs, within=0.12, source=source)


A_ISO = [
    (0.2, 0.1, 0.18835),
    (0.4, 0.2, 0.42947),
    (1, 0.1, 2.4305),
    (1, 0.3, 15.567),
    (2, 0.2, 15.113),
    (4, 0.1, 7.2018),
    (1, 0.5, 50.0),
    (0.3, 0.5, 0.52556),
    (0.7, 0.2, 2.3829),
    (1.5, 0.1, 3.3516),
    (0.1, 0.0, 0.1),
    (4, 5.0, 50.0),
    (8, 0.1, 7.2018),
]  # the last but one: without the limit the formula has no real value; the last: kappa 4 counts


@pytest.mark.parametrize(("kappa", "ratio", "published"), A_ISO)
def test_a_iso(book, kappa, ratio, published):
    source = ISO_281 + "aISO of radial ball bearings, " + QUOTED
    item = f"aISO at kappa {kappa}, eC Cu/P {ratio}"
    book.agrees(item, bb.a_iso(kappa, ratio), published, within=PRINTED, source=source)


@pytest.mark.parametrize(
    ("speed_rpm", "diameter", "published"),
    [(1075, 28.5, 25.709), (825, 28.5, 31.999), (1625, 22.0, 23.800)],
)
def test_reference_viscosity(book, speed_rpm, diameter, published):
    ours = bb.reference_viscosity(speed_rpm, diameter / 1000) * 1e6
    item = f"nu1 at {speed_rpm} rpm, Dpw {diameter} mm, mm2/s"
    book.agrees(item, ours, published, within=PRINTED, source=ISO_281 + "nu1, " + QUOTED)


@pytest.mark.parametrize(
    ("speed_rpm", "published"), [(100, 196.898546), (999.999999, 29.1234291), (1000, 28.4604989)]
)
def test_reference_viscosity_of_both_branches(book, speed_rpm, published):
    # Dpw 25 mm: 45000 x 100^-0.83 / 5, 45000 x 1000^-0.83 / 5 and 4500 / sqrt(1000) / 5
    ours = bb.reference_viscosity(speed_rpm, 0.025) * 1e6
    item = f"nu1 at {speed_rpm:.9g} rpm, Dpw 25 mm, mm2/s"
    # nine figures by hand
    book.agrees(item, ours, published, within=1e-8, source=ISO_281 + "nu1, " + QUOTED)


def test_viscosity_ratio(book):
    ours = bb.viscosity_ratio(40.0, 100e-6, 11e-6, 1000.0, 0.025)
    source = ISO_281 + "kappa = nu / nu1, " + MEMORY
    # 100 / 28.4604989: at 40 degC the oil is its grade
    item = "kappa of VG 100 at 40 degC, 1000 rpm, Dpw 25 mm"
    book.agrees(item, ours, 3.51364184, within=1e-8, source=source)


@pytest.mark.parametrize(
    ("cleanliness", "published"),
    [
        ("high cleanliness", 0.42402),
        ("normal cleanliness", 0.17082),
        ("slight contamination", 0.04270),
        ("severe contamination", 0.00933),
        ("very severe contamination", 0.0),
    ],
)
def test_contamination_factor(book, cleanliness, published):
    ours = bb.contamination_factor(1.0, 0.0285, cleanliness)
    source = ISO_281 + "eC for grease, " + UNSURE
    # .00933 is printed with three figures
    book.agrees(f"eC, {cleanliness}, Dpw 28.5 mm", ours, published, within=3e-4, source=source)


@pytest.mark.parametrize(
    ("kappa", "diameter", "cleanliness", "published"),
    [
        (0.5, 27.0, "normal cleanliness", 0.102374),
        (2.0, 27.0, "slight contamination", 0.0644611),
        (4.0, 27.0, "severe contamination", 0.0203772),
        (1.0, 125.0, "very severe contamination", 0.0165099),
        (4.0, 125.0, "high cleanliness", 0.86408),
    ],
)
def test_contamination_factor_by_hand(book, kappa, diameter, cleanliness, published):
    # c1 kappa^0.68 Dpw^0.55, at most 1, times 1 - c2 / Dpw^(1/3): cube roots 3 and 5
    ours = bb.contamination_factor(kappa, diameter / 1000, cleanliness)
    item = f"eC, {cleanliness}, Dpw {diameter:g} mm, kappa {kappa:g}"
    source = ISO_281 + "eC for grease, " + UNSURE
    # six figures by hand
    book.agrees(item, ours, published, within=5e-6, source=source)


def test_fatigue_load_limit(book):
    ours = bb.fatigue_load_limit(4500.0)
    source = ISO_281 + "Cu = C0/22, " + QUOTED
    book.agrees("Cu at C0 4500 N, N", ours, 204.545, within=1e-5, source=source)


@pytest.mark.parametrize(
    ("name", "exponent", "published"),
    [
        ("1.5", 1.5, 0.62996),
        ("10/9", 10 / 9, 0.53589),
    ],
)
def test_system_life(book, name, exponent, published):
    ours = bb.system_life([1.0, 1.0], exponent)
    source = "Weibull's product law of two equal lives, recomputed"
    book.agrees(f"two equal lives, b {name}", ours, published, within=PRINTED, source=source)


@pytest.mark.parametrize(
    ("temp", "subtraction", "published"),
    [(70, 0, 34903), (100, 0, 9297.5), (120, 0, 4306.2), (70, 0.2, 30385), (40, 0, 1.6884e05)],
)
def test_grease_life(book, temp, subtraction, published):
    ours = bb.grease_life(temp, subtraction)
    source = "Booser in Khonsari & Booser, Applied Tribology, " + UNSURE
    # five printed figures
    item = f"L50 at {temp} degC, S {subtraction}, h"
    book.agrees(item, ours, published, within=PRINTED, source=source)


def test_grease_life_that_nine_of_ten_reach(book):
    source = "L10 about 0.44 of L50, common practice, no source; Booser's line at 100 degC"
    # 0.44 x 9297.5, without what halves it, and with one halving by 10^-0.301
    for subtraction, published in (((), 4090.9), ((1.0,), 2045.6)):
        ours = bb.grease_life_l10(100.0, *subtraction)
        item = f"L10 of grease at 100 degC, S {sum(subtraction):g}, h"
        book.agrees(item, ours, published, within=PRINTED, source=source)
    ours = bb.grease_life(100.0)
    source = "Booser in Khonsari & Booser, Applied Tribology, " + UNSURE
    item = "L50 at 100 degC, nothing subtracted, h"
    book.agrees(item, ours, 9297.5, within=PRINTED, source=source)


def test_grease_that_is_cold(book):
    source = "same as at 40 degC, because grease also ages at rest: engineering judgment, no source"
    ours, item = bb.grease_life(20.0), "L50 at 20 degC, h"
    book.agrees(item, ours, 1.6884e05, within=PRINTED, source=source)


def test_grease_life_halves_per_15_k_near_77_degc(book):
    ours = bb.grease_life(69.5) / bb.grease_life(84.5)
    # a tangent to the line at 77 degC, taken over 15 K
    source = "15 K halving rule, common practice"
    book.agrees("L50 at 69.5 over 84.5 degC", ours, 2.0, within=0.02, source=source)


@pytest.mark.parametrize(("temp", "published"), [(50, 21.496), (90, 6.7040)])
def test_oil_viscosity(book, temp, published):
    ours = bb.oil_viscosity(temp, 32e-6, 5.4e-6) * 1e6
    source = "Walther's equation, ASTM D341, " + MEMORY
    item = f"VG 32 at {temp} degC, mm2/s"
    book.agrees(item, ours, published, within=PRINTED, source=source)


def test_grease_slope(book):
    # L10 / L50 of a two-parameter Weibull line is (ln(1/0.9) / ln 2)^(1/b)
    ours = (np.log(1 / 0.9) / np.log(2)) ** (1 / bb.GREASE_SLOPE)
    source = "L10 about 0.44 of L50, common practice, no source"
    book.agrees("L10 over L50 of grease", ours, 0.44, within=1e-9, source=source)  # by its making
    # (ln 0.99 / ln 0.9)^(1/b) with b 2.2946, five figures by hand
    ours, item = bb.grease_reliability_factor(0.99), "life of grease at 0.99 over that at 0.9"
    book.agrees(item, ours, 0.35914, within=PRINTED, source=source)


@pytest.mark.parametrize(("radial", "axial", "published"), [(100, 100, 110), (150, 50, 150)])
def test_static_load(book, radial, axial, published):
    source = "ISO 76, P0 = 0.6 Fr + 0.5 Fa, at least Fr, " + MEMORY
    item = f"P0 at Fr {radial}, Fa {axial} N, N"
    book.agrees(item, bb.static_load(radial, axial), published, within=1e-9, source=source)


def test_static_safety(book):
    # P0 of Fr 100, Fa 200 N is 160 N
    ours = bb.static_safety(4500.0, bb.static_load(100.0, 200.0))
    source = "ISO 76, S0 = C0 / P0, " + MEMORY
    book.agrees("S0 at C0 4500 N, Fr 100, Fa 200 N", ours, 28.125, within=1e-12, source=source)


def test_minimum_load(book):
    source = "1 % of C, common practice, no source"
    ours = bb.minimum_load(9560.0)
    book.agrees("minimum load at C 9560 N, N", ours, 95.6, within=1e-12, source=source)
