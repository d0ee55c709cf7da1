"""``python -m curvelab`` is the command ``curvelab``."""

from curvelab.cli import main

if __name__ == "__main__":
    main()
