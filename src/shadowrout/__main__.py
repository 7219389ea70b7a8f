"""``python -m shadowrout`` is the command line."""

import sys

from shadowrout.cli import main

sys.exit(main())
