"""Every function that works a question, by the name that the bank calls it."""

from airover.lesson import (
    answers_bearing,
    answers_capacitor,
    answers_fan,
    answers_heat,
    answers_job,
    answers_plate,
)

MODULES = (
    answers_fan, answers_plate, answers_capacitor, answers_heat, answers_bearing, answers_job,
)  # fmt: skip
ANSWERS = {one.__name__: one for module in MODULES for one in module.ANSWERS}
