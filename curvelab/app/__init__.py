"""The page: state, views, theme, server; the only Panel."""
