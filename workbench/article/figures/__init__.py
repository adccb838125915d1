"""One figure a file: results in, a Picture with its words out."""
