"""Pages for printing: one self-contained HTML file with plots. Pure text in and out."""
