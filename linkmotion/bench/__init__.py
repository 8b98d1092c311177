"""The bench: the whole job on one page of a browser, over a folder of plain files."""
