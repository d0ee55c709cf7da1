"""The Curves page: the yard's pumps side by side, a new pump, a pump's test, and the yard's own folder."""
