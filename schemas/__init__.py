"""What things are: columns, units, vocabulary, rules, store tables, results. Imports nothing of ours."""
