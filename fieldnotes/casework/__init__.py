"""One method per thing the vet does, over records, knowledge and a clock."""
