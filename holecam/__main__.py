"""Run the command line with ``python -m holecam``."""

from holecam.cli.entry import main

if __name__ == "__main__":
    main()
