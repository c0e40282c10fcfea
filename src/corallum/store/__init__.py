"""What touches the disk."""
