"""Press."""
