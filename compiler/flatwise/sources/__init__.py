"""The only reader of the disk: job files, the project file, files of points."""
