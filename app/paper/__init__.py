"""Everything on paper."""
