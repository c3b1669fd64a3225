"""Unbalance against the balance quality grades of ISO 21940-11."""

import pytest

from airover.physics import unbalance

SOURCE = "ISO 21940-11, permissible residual unbalance, from memory, recomputed"


@pytest.mark.parametrize(
    ("grade", "offset", "newtons"), [(6.3, 55.963, 1.4184), (16.0, 142.13, 3.6024)]
)
def test_unbalance_of_2_kg_at_1075_rpm(book, grade, offset, newtons):
    ours = unbalance.eccentricity(grade, 1075.0) * 1e6
    # five printed figures
    book.agrees(f"G{grade:g} offset, um", ours, offset, within=3e-5, source=SOURCE)
    ours = unbalance.force(2.0, grade, 1075.0)
    book.agrees(f"G{grade:g} force, N", ours, newtons, within=3e-5, source=SOURCE)
    ours = unbalance.grade_of(newtons, 2.0, 1075.0)
    book.agrees(f"grade of {newtons} N, mm/s", ours, grade, within=3e-5, source=SOURCE)


def test_lost_weight(book):
    # 2 kg at a centre 55.963 um off is 0.111926 kg mm: the same as 1 g lost at 111.926 mm
    ours = unbalance.force_of_loss(0.001, 0.111926, 1075.0)
    source = "F = m r w^2, of the same unbalance in g mm, from memory, recomputed"
    book.agrees(
        "1 g lost at 111.926 mm, as 2 kg at G6.3, N", ours, 1.4184, within=3e-5, source=source
    )
