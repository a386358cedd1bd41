"""The band split between woofer and tweeter by coils and capacitors."""
