"""Fault kinds, one a file: the wire a kind sits on, and what it does to what passes."""
