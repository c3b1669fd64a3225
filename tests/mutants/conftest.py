"""Mutants are tried by hand; pytest looks at how they are planted, in tests/project/test_mutants.py."""

collect_ignore_glob = ["*.py"]
