"""Print how often 95 % intervals hold the truth in simulated trials, as the methods were before and
as they are.

Run: python tests/benchmarks/coverage.py [trials a row, 4000 unless given]. One row for each
scenario and method: shares of trials whose ratios, and of treatments whose own intervals, hold the
truth; the median width of the ratio's interval on the log scale; the share of trials without an
interval.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from coverage_scenarios import table

if __name__ == "__main__":
    for line in table(int(sys.argv[1]) if len(sys.argv) > 1 else 4000):
        print(line, flush=True)
