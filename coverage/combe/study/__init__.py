"""One file that says it all: schema, file and run."""
