"""Run the program by ``python -m grading``."""

from grading.cli import main

if __name__ == "__main__":
    main()
