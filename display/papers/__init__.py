"""What is printed and taken away: PDF, labels, CSV and calendars."""
