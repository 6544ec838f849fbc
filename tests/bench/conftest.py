"""The benchmark is a program and no test: make bench runs it."""

collect_ignore_glob = ["*.py"]
