"""`python -m flatwise`."""

import sys

from flatwise.cli import main

if __name__ == "__main__":
    sys.exit(main())
