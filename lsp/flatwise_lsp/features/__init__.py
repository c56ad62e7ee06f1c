"""One module for each request of an editor; plain data in and out."""
