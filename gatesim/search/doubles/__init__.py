"""Defective doubles: logic with a classic bug, one a file, found by discovery (`catalogue`)."""
