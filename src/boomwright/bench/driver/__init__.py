"""A loudspeaker driver made known: readings, sweeps and recordings to parameters."""
