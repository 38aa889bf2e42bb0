"""The hands: one file each. They take plain events and know no Qt."""
