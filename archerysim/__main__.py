"""``python -m archerysim``"""

import sys

from archerysim.cli import main

sys.exit(main())
