"""`python -m generator` is the command `molewright`."""

import sys

from generator.cli import main

sys.exit(main())
