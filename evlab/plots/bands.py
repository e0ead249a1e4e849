"""The pale band behind the curves: where the ride lies when what is uncertain is drawn anew, again and again."""
