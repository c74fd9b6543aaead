"""One answer a file: what is asked of a project, worked out whole; nothing computes after it."""
