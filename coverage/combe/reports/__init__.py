"""What is said of an answer: one builder per question, from the answer to its document."""
