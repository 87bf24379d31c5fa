"""The alarms of a cell, judged row by row, and what people have said about them."""
