"""What air and hills do to a wave: ITU-R Recommendations as pure kernels."""
