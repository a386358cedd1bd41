"""Laws: pure functions on floats and arrays in SI units, one module per subject."""
