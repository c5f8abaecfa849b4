"""`make fuzz`: odd and malicious requests for a minute; fails where anything went wrong.

python -m tests.fuzz --seconds 60 --seed 7
"""

from __future__ import annotations

import argparse
import asyncio
import random
import sys
import tempfile
from pathlib import Path

from tests.fuzz.attack import Found, attack

ANSWERS = ("2xx", "4xx", "5xx", "none", "open")


def main() -> int:
    """Run, print a table, and what was wrong; 1 where anything was."""
    given = argparse.ArgumentParser()
    given.add_argument("--seconds", type=float, default=60.0)
    given.add_argument("--seed", type=int, default=random.SystemRandom().randrange(10**6))
    asked = given.parse_args()
    print(f"seed {asked.seed}, {asked.seconds:g} s", flush=True)
    with tempfile.TemporaryDirectory() as folder:
        found = asyncio.run(attack(Path(folder), asked.seed, seconds=asked.seconds))
    _show(found)
    return 1 if found.wrong else 0


def _show(found: Found) -> None:
    print(f"{'':16}" + "".join(f"{each:>8}" for each in ANSWERS))
    for kind in sorted({kind for kind, _ in found.counts}):
        print(f"{kind:16}" + "".join(f"{found.counts[kind, each]:8}" for each in ANSWERS))
    seconds, what = found.slowest
    print(f"slowest answer {seconds:.2f} s: {what[:100]}")
    print(f"wrong: {len(found.wrong)}")
    for line in found.wrong[:20]:
        print(f"  {line[:1500]}")


if __name__ == "__main__":
    sys.exit(main())
