"""Searching: every fault at every moment, worst cases, the shortest story that shows one, defective doubles."""
