"""`python -m gatesim` is the same program as `gatesim`."""

from gatesim.cli.main import main

if __name__ == "__main__":
    main()
