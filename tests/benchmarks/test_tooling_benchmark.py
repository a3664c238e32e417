"""Loading the catalogue, as a ratio to parsing its files."""

import time
import tomllib

from edgetime.tooling import load_catalogue, shipped_folder


def test_loading_costs_little_more_than_parsing(benchmark):
    """Checking and building the records takes no more than six times the parsing of the TOML."""
    texts = [p.read_text(encoding="utf-8") for p in shipped_folder().rglob("*.toml")]

    def parse():
        for text in texts:
            tomllib.loads(text)

    def seconds(work):
        # The processor's time: what else runs on the machine does not count.
        start = time.process_time()
        work()
        return time.process_time() - start

    load_catalogue()  # the imports are not measured
    pairs = [(seconds(load_catalogue), seconds(parse)) for _ in range(15)]
    ratio = min(p[0] for p in pairs) / min(p[1] for p in pairs)
    benchmark.pedantic(load_catalogue, rounds=5, iterations=1)
    benchmark.extra_info["files"] = len(texts)
    benchmark.extra_info["loading_over_parsing"] = ratio
    assert ratio < 6.0
