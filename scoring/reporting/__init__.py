"""A comparison as a report to hand over: one HTML file, or a PDF."""
