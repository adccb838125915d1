"""What numbers say: statistics on arrays, tables and summaries; knows no castings, no files."""
