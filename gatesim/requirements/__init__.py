"""Requirements: what must hold, one monitor a file; verdicts; profiles of limits."""
