"""The casting on the page: a body made here or a mesh, what is cast in, from where it is seen, and its picture in the tint."""
