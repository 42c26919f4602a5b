"""What looks unlike the rest: private questions for the coordinator."""
