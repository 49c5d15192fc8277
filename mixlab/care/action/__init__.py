"""When each insulin acts: the model, its spread, handbooks and studies."""
