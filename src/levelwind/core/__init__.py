"""Pure numbers: no files, no clock, no dice, no database. SI units inside; everything else comes in as arguments."""
