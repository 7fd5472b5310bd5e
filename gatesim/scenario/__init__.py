"""Sites and scenarios: their model, and the strict reading of their files."""
