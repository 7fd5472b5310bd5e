"""Logic that is not ours, on the bench: fixed scan, forks of it, and other programs in lock-step."""
