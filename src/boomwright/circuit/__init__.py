"""Small circuits: one netlist that is solved, drawn, listed and exported."""
