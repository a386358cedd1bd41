"""What a build is: its file, model and quantities, reading and writing, and the parts drawer."""
