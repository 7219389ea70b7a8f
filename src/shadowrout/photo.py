"""Pictures from any file: decoded safely, upright, cropped, as lightness."""
