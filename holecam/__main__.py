"""Run the command line with ``python -m holecam``."""

from holecam.cli.main import main

if __name__ == "__main__":
    main()
