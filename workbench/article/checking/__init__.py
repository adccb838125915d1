"""A writer's own draft read against the study: each finding with its line and a suggestion."""
