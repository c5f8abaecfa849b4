"""Pictures of the book for phones and printers: charts, box maps, labels."""
