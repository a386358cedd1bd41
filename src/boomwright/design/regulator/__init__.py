"""The linear regulator with its capacitors."""
