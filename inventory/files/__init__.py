"""Files in and out: the lists a club keeps of its stock, read, judged row by row, written, and written out again."""
