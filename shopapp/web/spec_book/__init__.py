"""The spec book: engine families and what their makers' manuals say."""
