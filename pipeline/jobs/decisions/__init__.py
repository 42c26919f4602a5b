"""What people decide about runs: withdrawals, questions and answers, requests from the desk."""
