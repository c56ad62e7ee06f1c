"""What every stage speaks in: findings, fixes, wording, units, surfaces."""
