"""What a vet reckons, as pure functions over sourced tables."""
