"""``python -m rebuildreport``."""

from .commands.main import main

if __name__ == "__main__":
    main()
