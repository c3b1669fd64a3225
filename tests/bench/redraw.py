"""A redraw after a slider of one motor's panel moved, beside one that builds its figure anew."""

import numpy as np
from row import Row, timed

from airover.app.motor_panel import MotorPanel
from airover.model.expected import Expected
from airover.reports.motor import MotorPicture


def redrawn(moves: int) -> list[Row]:
    """From the slider's new value until everything is shown: the middle, and 95 of 100.

    The peer does the same physics and makes no tables; both take turns, so that other work on the
    machine meets both alike.
    """
    panel = MotorPanel()
    ours, peers, apart = [], [], []
    for share in 50 + 5 * (np.arange(1, moves + 1) % 15):
        seconds, _ = timed(lambda at=int(share): setattr(panel.blade, "value", at))
        ours.append(seconds)
        seconds, found = timed(lambda at=int(share): _anew(panel, at / 100))
        peers.append(seconds)
        apart.append(abs(found.current.mid / panel.answer.current.mid - 1))
    name = "the same physics, figure built anew, no tables"
    parts = (("the middle", 50), ("95 of 100 are faster", 95))
    return [
        Row(f"redraw after a slider move, {words}", np.percentile(ours, share),
            name, np.percentile(peers, share), max(apart), 1e-9)
        for words, share in parts
    ]  # fmt: skip


def _anew(panel: MotorPanel, blade: float) -> Expected:
    mounted, voltage = panel.answer.mounted, panel.voltage.value
    sweep, now = mounted.across(voltage, 1.0, blade)
    found = Expected(mounted, voltage, 1.0, blade, now, sweep)
    MotorPicture(mounted).png(found)
    return found
