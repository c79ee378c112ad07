"""What the book trade asks of a book as a thing: ISBN to check digit, number to barcode, pages to spine."""
