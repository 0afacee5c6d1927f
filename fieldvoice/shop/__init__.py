"""What all jobs of a shop say together, asked by SQL straight over their logs."""
