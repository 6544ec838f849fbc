"""Run the program by ``python -m grading``."""

from grading.cli import main

main()
