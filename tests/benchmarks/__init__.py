"""Benchmarks, always as ratios measured in one run; ``python -m tests.benchmarks`` prints them."""
