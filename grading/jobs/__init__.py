"""What the commands do, a module a job: each reads, checks, makes and publishes, and returns what it found."""
