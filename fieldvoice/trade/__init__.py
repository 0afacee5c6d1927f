"""The arithmetic of the trade: pure functions over floats in SI units, nothing stored."""
