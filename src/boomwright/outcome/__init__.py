"""A build through physics: the coupled run of battery, rails, amplifiers, drivers and heat."""
