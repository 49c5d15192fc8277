"""When insulins act, drawn: curves, handbooks and studies."""
