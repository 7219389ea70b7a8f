"""What a plaque takes and how long: amounts of material, times, classes of strokes."""
