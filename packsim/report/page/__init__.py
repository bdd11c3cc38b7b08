"""Pages: the study report, the crew sheet, forms, notebook views."""
