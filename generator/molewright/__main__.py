"""`python -m molewright` is the command `molewright`."""

import sys

from molewright.cli import main

sys.exit(main())
