"""How long the pH of one mixture and a curve of a hundred points take. Run: python tests/speed/bench_equilibrium.py [--small]."""

from __future__ import annotations

import sys
import timeit

from molewright.chem.curve import Titration
from molewright.chem.equilibrium import Solute, ph

ETHANOIC = (4.756,)
PHOSPHORIC = (2.148, 7.198, 12.35)
ACID, ALKALI = Solute((), 1, 0.1), Solute((), -1, 0.1)  # strong ones


def main() -> None:
    """Print both, and their ratio."""
    mixture = [Solute(ETHANOIC, 1, 0.1), Solute((), -1, 0.03)]
    times, few = (2, 1) if "--small" in sys.argv else (200, 5)
    one = min(timeit.repeat(lambda: ph(mixture), number=times, repeat=5)) / times
    titration = Titration(flask=(Solute(PHOSPHORIC, 3, 0.05),), flask_cm3=25.0, titrant=(ALKALI,))
    volumes = [0.5 * place for place in range(100)]
    curve = min(timeit.repeat(lambda: titration.curve(volumes), number=few, repeat=few)) / few
    strong = Titration(flask=(ACID,), flask_cm3=25.0, titrant=(ALKALI,))
    plain = min(timeit.repeat(lambda: strong.curve(volumes), number=few, repeat=few)) / few
    print(f"pH of a weak acid with alkali {one * 1e6:8.1f} µs")
    print(f"curve of a tribasic acid, 100 points {curve * 1e3:8.2f} ms, {curve / plain:.1f} times a strong acid's")


if __name__ == "__main__":
    main()
