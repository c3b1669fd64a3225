"""Mutation testing: small faults planted in the code, and which of them a test notices.

A mutant is the code with one small fault: a number one larger, `+` for `-`, `<` for `<=`, an argument
left out. What no test notices shows what no test holds. The faults are those of mutmut, which is not
among the pins (`.venv/bin/python -m pip install mutmut`); unlike mutmut, `tests/mutants` makes them
in constants, properties and compiled code too, and tries each by a fork of one session in which the
tests are gathered, some five a second.

    python -m tests.mutants airover.physics.coil --tests tests/published --numeric --results coil.jsonl
    python -m tests.mutants airover.physics.coil --tests tests/physics/test_coil.py --go-on --results coil.jsonl

The first tries faults in numbers and arithmetic on the published checks alone, the second all others
and what is still alive. Compiled modules need `--uncompiled`; a busy machine more than 4 `--seconds` of
tests for one mutant. A test that calls no function of a module is not tried for its constants, and
what a test made while it was gathered keeps the old ones. A process that a test starts, such as a
worker of a fleet, has the code without the fault. Linux and macOS only.
RESULTS.md has the figures.

Texts, data and templates are read from files, and a user reads what is made of them. `files` changes
numbers, units, places and entries in texts and data; `planted.toml` has faults that were thought out
by hand, each with the test that is meant to find it. Both are tried in a copy of the project.

    python -m tests.mutants --files texts --sample 20 --results texts.jsonl
    python -m tests.mutants --planted

`--again` tries once more what is alive in the results, with other tests or more seconds. Leave the
sources alone while a run goes on: a fault is planted in the code that was loaded when it began.
RESULTS.md has the figures of the samples by room, and what is still alive in them.

What is still alive is, by kind:

- `<` for `<=` at a value that is never met, or met by a rounding alone;
- starts, brackets, limits of steps and tolerances of an iteration, and the safeguards of Newton's
  rule (a halved bracket) where the rule alone gets there: the same answer, sooner or later;
- words: of a source, of an ArithmeticError that was not seen to be raised, of numba's flags;
- arguments that repeat a default, and copies that guard against a caller who writes into an array.

Of 242 functions of the physics that compute, 236 have faults that a published check or an independent method
in `tests/published` finds: 3087 of 3777 faults in numbers and arithmetic. The six others say what is
refused, spread arguments, or decide whether to go on. What no published check can find is mostly an
accepted range, an own decision: `tests/project/test_refusals.py` holds these.
"""
