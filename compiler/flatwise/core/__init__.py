"""Parts that every stage uses: findings, fixes, wording, units and surfaces."""
