"""The only place where the stages meet: receive sheets, run a month, answer a question, make the demo."""
