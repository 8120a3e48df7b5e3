"""One job made whole, aside: its pages, PDFs and results; and the last look at what is public."""
