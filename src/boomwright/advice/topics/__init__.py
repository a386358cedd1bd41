"""Rules by topic: each module holds the rules about one part of the work."""
