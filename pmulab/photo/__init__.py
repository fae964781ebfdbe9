"""Numbers from photos: pixel arrays and bytes in, millimetres and colour differences out."""
