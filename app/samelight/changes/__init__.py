"""What changes sheets: the next master, carrying it into shots, what to set in each, values back in a sheet's own spelling."""
