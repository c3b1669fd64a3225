"""Benchmarks are run by hand; pytest looks at them through tests/project/test_bench.py alone."""

collect_ignore_glob = ["*.py"]
