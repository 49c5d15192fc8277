"""``python -m mixlab`` does what the command ``mixlab`` does."""

import sys

from .launch import main

sys.exit(main())
