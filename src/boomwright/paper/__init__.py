"""What is drawn or printed: charts, drawings, lists and the guide."""
