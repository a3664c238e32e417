"""Loading the catalogue, as a ratio to parsing its files."""

import time
import tomllib

from edgetime.tooling import load_catalogue, shipped_folder


def test_loading_costs_little_more_than_parsing(benchmark):
    """Checking and building the records takes no more than six times the parsing of the TOML."""
    texts = [p.read_text(encoding="utf-8") for p in shipped_folder().rglob("*.toml")]

    def parse():
        start = time.perf_counter()
        for text in texts:
            tomllib.loads(text)
        return time.perf_counter() - start

    load_catalogue()  # the imports are not measured
    benchmark.pedantic(load_catalogue, rounds=20, iterations=1)
    parsing = min(parse() for _ in range(20))
    benchmark.extra_info["files"] = len(texts)
    benchmark.extra_info["loading_over_parsing"] = benchmark.stats.stats.min / parsing
    assert benchmark.stats.stats.min / parsing < 6.0
