"""Bad input, thrown at every entrance.

This package throws bad input at every entrance: files of all kinds, the command line, the panels, the
page. A case takes good files and changes bytes, lines, values, units, types, keys or the encoding
(`mutate.py`). These rules hold of each (`rules.py`): an answer, or an InputError whose sentence names
field, value and what is accepted, on one line; no other error; no NaN or infinity in an answer; 2 s of
processor time to read and 6 s to work a job; no file left after a refusal, no draft ever; no file
opened but those that were named (and the code's own). `test_fuzz.py` runs some thousand cases with
each push, the same ones under CI; `test_findings.py` holds what was found once, and bombs.

    python -m tests.fuzz --cases 1000000 --seed 1 --state state.json --page tests/fuzz/RESULTS.md
    python -m tests.fuzz --only "jobs, answered" --seed 1 --case 17

The first goes on where it was stopped; RESULTS.md has its figures
(its six findings are mended since; of a second million, seed 3, on the mended code 305 100 cases were
thrown, with no finding). The second
runs one case alone and keeps its file. Every case follows from seed, entrance and number, as long as
`mutate.py` and the samples stay the same.

A new entrance is a row in `entrances.py` (files) or `touched.py` (what people touch): name, file's name,
good samples, the function that reads it, the one that works what was read and gives plain data, how
often it is worked, its share of the cases. Bytes that no change of a text would make (Parquet) are
drawn by its `make`. A finding is mended where the input comes in, and gets its case in
`test_findings.py`.

Not covered: memory is limited in the long run only (4 GB); what a template of your own does, which is
code and may run without end; a Parquet file of a fleet that unpacks to very much, since fleets may be
of any size; a scheduler's network.
"""
