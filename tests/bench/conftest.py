"""Benchmarks are run by hand; pytest looks at them through tests/test_bench.py alone."""

collect_ignore_glob = ["*.py"]
