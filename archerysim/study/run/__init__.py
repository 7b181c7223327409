"""Many shots: points, workers, stores."""
