"""The planner's questions: people served."""
