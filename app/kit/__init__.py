"""General tools: theme, worker, typed tables, fields, errors in what Qt calls."""
