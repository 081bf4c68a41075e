"""``python -m pipeline`` is the ``swardline`` command."""

import sys

from pipeline.cli import main

sys.exit(main())
