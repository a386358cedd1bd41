"""The circuits a builder solders, as netlists."""
