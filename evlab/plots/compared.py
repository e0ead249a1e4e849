"""Two to four rides on one strip chart."""
