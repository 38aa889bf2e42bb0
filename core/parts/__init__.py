"""A surface with a build, cut into parts: outlines, sizes, masses. Knows no paper and no screen."""
