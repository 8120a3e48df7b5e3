"""What stands on the disk, what it was made from and by, and whether any of it has changed."""
