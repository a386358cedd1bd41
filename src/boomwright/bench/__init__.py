"""What was measured: test signals, readings and the parameters fitted to them."""
